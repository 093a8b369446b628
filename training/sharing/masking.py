"""Sums without parts: each pair of centres agrees on random whole numbers that one adds and the other takes away.

Numbers are written in fixed point and added modulo 2^128, so that the masks cancel exactly. Masks come from a secret
phrase of each pair (SHAKE-256), never from the pool: it learns the sums over all centres and no part of them.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.sharing.model import Quantity

FRACTION_BITS = 48
MODULUS_BITS = 128
BYTES = MODULUS_BITS // 8
MODULUS = 1 << MODULUS_BITS
LARGEST = 2.0 ** (MODULUS_BITS - FRACTION_BITS - 16)  # room for sums over many centres


@dataclass(frozen=True, slots=True)
class Masks:
    """A centre's secrets with every other centre (name -> phrase); none of them: nothing is masked."""

    centre: str
    secrets: Mapping[str, str]

    def quantity(self, values: Floats | float, label: str) -> Quantity:
        """The numbers, masked if there are secrets; `label` is used once and never again with these secrets."""
        held = np.asarray(values, dtype=np.float64)
        if not self.secrets:
            return Quantity(held.shape, tuple(held.ravel().tolist()))
        whole = [_fixed(value) for value in held.ravel().tolist()]
        for other, secret in sorted(self.secrets.items()):
            sign = 1 if self.centre < other else -1
            pair = "\0".join(sorted((self.centre, other)))
            stream = hashlib.shake_256(f"{secret}\0{pair}\0{label}".encode()).digest(BYTES * len(whole))
            masks = [int.from_bytes(stream[at : at + BYTES]) for at in range(0, len(stream), BYTES)]
            whole = [(value + sign * mask) % MODULUS for value, mask in zip(whole, masks, strict=True)]
        return Quantity(held.shape, (), tuple(map(str, whole)))


def _fixed(value: float) -> int:
    if not abs(value) < LARGEST:
        raise FitRefused(f"a sum must lie under {LARGEST:g} to be masked; accepted: the same without masks")
    return round(value * (1 << FRACTION_BITS)) % MODULUS


def total(parts: Sequence[Quantity]) -> Floats:
    """The sum over centres, an array of the quantities' shape; masks cancel if every centre of the agreement is in."""
    shape = parts[0].shape
    if parts[0].masked:
        sums = [sum(map(int, column)) % MODULUS for column in zip(*(part.masked for part in parts), strict=True)]
        values = np.array([_real(held) for held in sums])
    else:
        values = np.sum([part.values for part in parts], axis=0)
    held: Floats = np.asarray(values, dtype=np.float64).reshape(shape)
    return held


def _real(whole: int) -> float:
    return (whole - MODULUS if whole >= MODULUS // 2 else whole) / (1 << FRACTION_BITS)
