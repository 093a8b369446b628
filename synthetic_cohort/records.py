"""The children of a cohort as arrays, stage by stage: what is known before the plan, what is hidden, what is planned.

Every field is (n,), or broadcasts against (n, ...) when the truth is integrated over what is hidden.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
Flags = NDArray[np.bool_]

NOT_TESTED = 3  # place of the word in codes.REDUCES
NOT_IMAGED = 4  # place of the word in codes.ARTERY


@dataclass(frozen=True, slots=True)
class Child:
    """What a reader records before the plan is made, complete."""

    centre: Codes
    year: Codes
    condition: Codes
    group: Codes
    age_years: Floats
    sex: Codes
    indication: Codes
    prior_surgery: Codes
    nurick: Codes  # -1: not applicable
    reduces: Codes  # NOT_TESTED included
    adi_mm: Floats  # NaN: not measurable
    padi_mm: Floats  # NaN: not measurable
    ring: Codes
    artery_right: Codes  # NOT_IMAGED included
    artery_left: Codes


@dataclass(frozen=True, slots=True)
class Hidden:
    """What moves the plan or the course and stands in no core column.

    `room` and `bone` are standard normal: bone for screws (more is easier) and its density, given all that is recorded.
    `pooled` sums everything that acts on the course alone: displacement, joints, laxity, and what nobody measures.
    """

    room: Floats
    bone: Floats
    surgeon: Codes
    movements: Flags
    reduces: Codes
    lost_anchor: Flags
    pooled: Floats


@dataclass(frozen=True, slots=True)
class Plan:
    """The construct as planned."""

    occiput: Flags
    extra_levels: Codes  # below C2
    construct: Codes
    anchors: Codes
    graft: Codes
    decompression: Codes  # bit mask in the order of codes.DECOMPRESSION
    support: Codes

    @property
    def segments(self) -> Codes:
        """Segments spanned: C1 to C2 is 1."""
        return 1 + self.occiput + self.extra_levels


Record = TypeVar("Record", Child, Hidden, Plan)


def each(record: Record, change: Callable[[NDArray[Any]], NDArray[Any]]) -> Record:
    """The record with `change` applied to every array."""
    return type(record)(**{field.name: change(getattr(record, field.name)) for field in fields(record)})


def take(record: Record, rows: NDArray[np.intp] | Flags) -> Record:
    """The chosen children."""
    return each(record, lambda values: values[rows])


def pick(rng: np.random.Generator, weights: Floats) -> Codes:
    """(n,) one place per row of `weights` (n, k), with chance proportional to the weight there."""
    cumulative = np.cumsum(weights, axis=1)
    draws = rng.random(len(weights)) * cumulative[:, -1]
    return np.asarray((cumulative <= draws[:, None]).sum(axis=1), dtype=np.int64)


def softmax(logits: Floats) -> Floats:
    """Chances along the last axis; minus infinity is impossible."""
    powers = np.exp(logits - logits.max(axis=-1, keepdims=True))
    return np.asarray(powers / powers.sum(axis=-1, keepdims=True))
