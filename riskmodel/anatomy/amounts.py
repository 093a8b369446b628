"""Comparing measured lengths, and what a pair of sides or of readers tells."""

import math
from collections.abc import Sequence

# Two decimal lengths that are equal on paper differ by about 1e-15 in binary: 4.0 - 3.5 must count as 0.5.
TOLERANCE = 1e-9


def at_least(value: float, limit: float) -> bool:
    """Whether `value` reaches `limit`, equality on paper included; any one unit.

    >>> at_least(0.3, 0.1 + 0.2), at_least(3.9 - 3.5, 0.5)
    (True, False)
    """
    return value >= limit - TOLERANCE


def asymmetry(right: float | None, left: float | None) -> float | None:
    """Difference between the sides, either way, in the unit of both; None unless both are known."""
    return None if right is None or left is None else abs(right - left)


def reader_sd(first: Sequence[float], second: Sequence[float]) -> float:
    """Standard deviation of one reading, from the same n lengths read by two readers.

    Parameters
    ----------
    first, second : (n,) readings of the same things in the same order and unit, n at least 2

    Returns
    -------
    float
        In the unit of the readings, 0 or more.

    Raises
    ------
    ValueError
        When there are fewer than two pairs, or not as many of one reader as of the other.

    Notes
    -----
    sqrt(sum of squared differences / 2n) (Dahlberg's formula, common practice). It takes the readers to agree on
    average: a steady difference between them counts as error too.
    """
    if len(first) != len(second) or len(first) < 2:
        raise ValueError(f"two readers must have read the same 2 or more; found {len(first)} and {len(second)}")
    squares = sum((a - b) ** 2 for a, b in zip(first, second, strict=True))
    return math.sqrt(squares / (2 * len(first)))
