"""How often the interval held the truth in simulated cohorts: the only place where that can be seen.

Measured by the recovery study (docs/recovery.md); a test holds these numbers to its rows.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log
from typing import Any


@dataclass(frozen=True, slots=True)
class Measured:
    """Cohorts of so many `children` with this `rate` of events, and the share of true risks that intervals held."""

    children: int
    rate: float
    coverage: float


COVERAGE = (
    Measured(150, 0.16, 0.92),
    Measured(300, 0.16, 0.90),
    Measured(600, 0.16, 0.90),
    Measured(150, 0.06, 0.94),
    Measured(300, 0.06, 0.93),
    Measured(600, 0.06, 0.90),
)


# Cohorts more than this many times larger or smaller, or with so much more or fewer events, are not alike.
ALIKE = 2.0


def nearest(children: int, rate: float) -> Mapping[str, Any] | None:
    """The simulated cohorts most like one of this size and event rate in (0, 1), as plain JSON; None if none is."""

    def apart(held: Measured) -> tuple[float, float]:
        return abs(log(held.children / children)), abs(log(held.rate / rate))

    held = min(COVERAGE, key=lambda each: sum(apart(each)))
    if max(apart(held)) > log(ALIKE):
        return None
    return {"children": held.children, "rate": held.rate, "coverage": held.coverage}
