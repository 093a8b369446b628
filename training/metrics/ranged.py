"""A measure with its interval, and how many events it takes before one is told."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from training.metrics.uncertainty import Estimate, Estimates

LEVEL = 0.95
FEWEST_EVENTS = 10
TOO_FEW = "too few to say"

Scale = Callable[[float], float]
# Each measure that has a formula for its interval: the name of its estimate, and the way back from that scale.
SCALES: Mapping[str, tuple[str, Scale]] = {
    "c": ("logit_c", expit),
    "observed_expected": ("log_observed_expected", np.exp),
    "citl": ("citl", float),
    "slope": ("slope", float),
}


@dataclass(frozen=True, slots=True)
class Ranged:
    """A measure with its 95% interval; what is None has its reason. `resampled`: the interval is a bootstrap's."""

    value: float | None
    low: float | None
    high: float | None
    reason: str | None = None
    resampled: bool = False

    @classmethod
    def none(cls, reason: str) -> "Ranged":
        """No number, and why."""
        return cls(None, None, None, reason)


def ranged(found: Estimates, measure: str) -> Ranged:
    """The measure `measure` (a name in `SCALES`) with its interval, brought back from the scale of its estimate."""
    name, back = SCALES[measure]
    return brought_back(getattr(found, name), back)


def brought_back(estimate: Estimate, back: Scale) -> Ranged:
    """An estimate with its interval, both brought back from the scale on which it is nearly normal."""
    interval = estimate.interval(LEVEL)
    if estimate.value is None or interval is None:
        return Ranged.none(estimate.reason or "")
    value, low, high = (float(back(held)) for held in (estimate.value, *interval))
    return Ranged(value, low, high)


def too_few_events(events: int, others: int) -> str | None:
    """Why c and slope are not told of so many known events and non-events; None where there are enough."""
    if min(events, others) >= FEWEST_EVENTS:
        return None
    return f"{TOO_FEW}: {events} events and {others} without, {FEWEST_EVENTS} of each are needed"
