"""The door of the package: predictions and outcomes checked once, so that the arithmetic behind needs no checks.

Two numbers say how much a child counts. `weights` is the censoring weight of the outcome (0 = the outcome at the
horizon is not known, 1 = nothing was censored); `counts` says how often the child is in this sample (1 in the cohort
itself, 0, 1, 2, ... in a replay). A sample with counts is the sample in which rows are repeated.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.cases.table import Floats

Whole = NDArray[np.int64]
Marks = NDArray[np.bool_]

NOTHING_KNOWN = "no child's outcome at the horizon is known"
NO_EVENT = "no event among the children whose outcome is known"
NO_NON_EVENT = "no child without the event among those whose outcome is known"


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """Checked predictions: the k children whose outcome is known, and the predictions of all n.

    Attributes
    ----------
    y_obs, y_prob, weights
        (k,) outcome 0/1, predicted probability, and counts * censoring weight > 0 of those with a known outcome.
    known_counts
        (k,) how often each of them is in the sample.
    all_prob, all_counts
        (n,) the same for every child, also those censored before the horizon.
    case
        (k,) whether the child is a case, the same as y_obs == 1.
    total, events
        Sum of `weights`, and of `weights` over the cases.
    lacking
        Which kind of child is missing for a comparison of cases with non-cases, as a sentence; else None.
    """

    y_obs: Floats
    y_prob: Floats
    weights: Floats
    known_counts: Whole
    all_prob: Floats
    all_counts: Whole
    case: Marks
    total: float
    events: float
    lacking: str | None

    @property
    def rate(self) -> float:
        """Weighted rate of the outcome, events / total.

        With weights learned on these same children total = number of children and this is the Aalen-Johansen estimate.
        In a part of the cohort the two differ; dividing by total keeps the rate within [0, 1].
        """
        return self.events / self.total


def check(
    y_obs: ArrayLike, y_prob: ArrayLike, weights: ArrayLike | None = None, counts: ArrayLike | None = None
) -> Sample:
    """Check predictions against outcomes and set those with a known outcome apart.

    Parameters
    ----------
    y_obs
        (n,) outcome, 0 or 1; anything, NaN included, where the weight or the count is 0.
    y_prob
        (n,) predicted probabilities in [0, 1].
    weights
        (n,) censoring weights >= 0; None = 1 for all.
    counts
        (n,) whole numbers >= 0; None = 1 for all.

    Raises
    ------
    ValueError
        Naming everything that does not hold.
    """
    prob = np.asarray(y_prob, dtype=np.float64)
    obs = np.asarray(y_obs, dtype=np.float64)
    weight = np.ones(prob.shape) if weights is None else np.asarray(weights, dtype=np.float64)
    copies = np.ones(prob.shape) if counts is None else np.asarray(counts, dtype=np.float64)
    _refuse_shapes(obs, prob, weight, copies)
    both = weight * copies
    known = both != 0  # NaN counts as known here and is refused below
    obs, known_prob, known_weight = obs[known], prob[known], both[known]
    _refuse_values(obs, prob, both, copies)
    case = obs == 1
    return Sample(
        y_obs=obs,
        y_prob=known_prob,
        weights=known_weight,
        known_counts=copies[known].astype(np.int64),
        all_prob=prob,
        all_counts=copies.astype(np.int64),
        case=case,
        total=float(known_weight.sum()),
        events=float(known_weight @ obs),
        lacking=_lacking(len(case), int(np.count_nonzero(case))),
    )


def _lacking(known: int, cases: int) -> str | None:
    if known == 0:
        return NOTHING_KNOWN
    if cases == 0:
        return NO_EVENT
    return NO_NON_EVENT if cases == known else None


def _refuse_shapes(*arrays: Floats) -> None:
    shapes = [array.shape for array in arrays]
    if len(set(shapes)) > 1 or len(shapes[0]) != 1:
        raise ValueError(f"y_obs, y_prob, weights and counts must be (n,) of one length: found {shapes}")


def _refuse_values(known_obs: Floats, prob: Floats, weights: Floats, counts: Floats) -> None:
    binary = (known_obs == 0) | (known_obs == 1)
    whole = (counts >= 0) & (counts < np.inf) & (np.floor(counts) == counts)
    holds = {
        "y_prob must lie in [0, 1]": bool(((prob >= 0) & (prob <= 1)).all()),
        "weights must be finite and at least 0": bool(((weights >= 0) & (weights < np.inf)).all()),
        "counts must be whole numbers of at least 0": bool(whole.all()),
        "y_obs must be 0 or 1 wherever weights and counts are above 0": bool(binary.all()),
    }
    broken = [rule for rule, held in holds.items() if not held]
    if broken:
        raise ValueError("predictions cannot be judged: " + "; ".join(broken))
