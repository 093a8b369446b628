"""How estimates stand to what happened, in some of the children: three measures with intervals, or why none."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.metrics import Estimates, Ranged, estimates, ranged, too_few_events
from training.outcome import Outcome


@dataclass(frozen=True, slots=True)
class Standing:
    """Estimates and outcomes of the children of `name`.

    `children` of known course, `events` among them; `rate` observed, weighted for censoring; `mean_risk` estimated;
    `c`, `observed_expected` and `slope` with their intervals. Rates and risks in [0, 1].
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
    events, others = outcome.ends(rows)
    found = of(outcome, probability, rows)
    few = too_few_events(events, others)
    weight = outcome.weight[rows]
    return Standing(
        name=name,
        children=int(np.count_nonzero(rows)),
        events=events,
        rate=float(weight @ outcome.label[rows] / weight.sum()) if weight.any() else None,
        mean_risk=float(probability[rows].mean()) if rows.any() else None,
        c=_unless(few, found, "c"),
        observed_expected=_unless(None if always_ratio else few, found, "observed_expected"),
        slope=_unless(few, found, "slope"),
    )


def of(outcome: Outcome, probability: Floats, rows: NDArray[np.bool_]) -> Estimates:
    """Measures of some children on the scales on which they are nearly normal."""
    return estimates(outcome.label[rows], probability[rows], outcome.weight[rows])


def _unless(few: str | None, found: Estimates, measure: str) -> Ranged:
    return ranged(found, measure) if few is None else Ranged.none(few)
