"""How far two readers of one measurement lie apart."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True, slots=True)
class Readers:
    """Agreement of readers: children whom two or more read, and the SD of a single reading in the variable's unit."""

    children: int
    sd: float


def readers_of(readings: Iterable[Sequence[float]]) -> Readers | None:
    """The SD of a single reading from the readings of each child; None when nobody was read twice.

    Notes
    -----
    The square root of the mean square within children, sum (x - own mean)^2 / sum (k - 1), with k readings of a child:
    the residual SD of a one-way analysis of variance. Bland and Altman, Measurement error, BMJ 1996;313:744.
    """
    several = [held for held in readings if len(held) > 1]
    if not several:
        return None
    squares = sum(sum((value - sum(held) / len(held)) ** 2 for value in held) for held in several)
    return Readers(len(several), sqrt(squares / sum(len(held) - 1 for held in several)))
