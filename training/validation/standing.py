"""How estimates stand to what happened, in some of the children: four numbers with intervals, or why there are none."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from riskmodel.cases.table import Floats
from training.cohort import Status
from training.metrics import Estimate, Estimates, estimates
from training.outcome import Outcome

FEWEST_EVENTS = 10
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Ranged:
    """A number with its 95% interval; all None with a reason where there is none."""

    value: float | None
    low: float | None
    high: float | None
    reason: str | None = None

    @classmethod
    def none(cls, reason: str) -> "Ranged":
        """No number, and why."""
        return cls(None, None, None, reason)


@dataclass(frozen=True, slots=True)
class Standing:
    """Estimates and outcomes of the children of `name`.

    `children` of known course, `events` among them; `rate` observed, weighted for censoring; `mean_risk` estimated;
    `c`, `observed_expected` and `slope` with their intervals. `pooling`: the estimates on the scale on which centres
    are pooled, None where there are too few.
    """

    name: str
    children: int
    events: int
    rate: float | None
    mean_risk: float | None
    c: Ranged
    observed_expected: Ranged
    slope: Ranged


def standing(
    name: str, outcome: Outcome, probability: Floats, rows: NDArray[np.bool_], *, always_ratio: bool = False
) -> Standing:
    """How the estimates of some children stand to what happened to them.

    Parameters
    ----------
    outcome, probability
        Of all n children; a child of unknown course takes no part.
    rows
        (n,) which children are meant.
    always_ratio
        Tell observed / expected below 10 events and non-events too; c and slope never are.
    """
    events = int(np.count_nonzero(outcome.status[rows] == Status.EVENT))
    others = int(np.count_nonzero(outcome.known[rows])) - events
    found = of(outcome, probability, rows)
    few = too_few(events, others)
    weight = outcome.weight[rows]
    return Standing(
        name=name,
        children=int(np.count_nonzero(rows)),
        events=events,
        rate=float(weight @ outcome.label[rows] / weight.sum()) if weight.any() else None,
        mean_risk=float(probability[rows].mean()) if rows.any() else None,
        c=_ranged(found.logit_c, few, expit),
        observed_expected=_ranged(found.log_observed_expected, None if always_ratio else few, np.exp),
        slope=_ranged(found.slope, few, lambda x: x),
    )


def of(outcome: Outcome, probability: Floats, rows: NDArray[np.bool_]) -> Estimates:
    """Measures of some children on the scales on which they are nearly normal."""
    return estimates(outcome.label[rows], probability[rows], outcome.weight[rows])


def too_few(events: int, others: int) -> str | None:
    """Why nothing is said, or None."""
    if min(events, others) >= FEWEST_EVENTS:
        return None
    return f"too few to say: {events} events and {others} without, {FEWEST_EVENTS} of each are needed"


def _ranged(held: Estimate, few: str | None, back: Callable[[float], float]) -> Ranged:
    if few is not None:
        return Ranged.none(few)
    interval = held.interval(LEVEL)
    if held.value is None or interval is None:
        return Ranged.none(held.reason or "")
    low, high = interval
    return Ranged(float(back(held.value)), float(back(low)), float(back(high)))
