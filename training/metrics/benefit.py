"""Would acting on the model do more good than harm: net benefit over a range of thresholds fixed beforehand."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.cases.table import Floats
from training.metrics.sample import NOTHING_KNOWN, check


@dataclass(frozen=True, slots=True, eq=False)
class NetBenefit:
    """Decision curve, all (t,): net benefit in true positives a child, of the model, of acting on all, on none (0).

    `true_positives` and `false_positives` are the shares of all children that acting at `threshold` would meet.
    `reason` says why the arrays are empty, if they are.
    """

    thresholds: Floats
    model: Floats
    treat_all: Floats
    treat_none: Floats
    true_positives: Floats
    false_positives: Floats
    reason: str | None = None


def net_benefit(
    y_obs: ArrayLike,
    y_prob: ArrayLike,
    weights: ArrayLike | None,
    thresholds: ArrayLike,
    counts: ArrayLike | None = None,
) -> NetBenefit:
    """Return the net benefit of acting when the predicted probability is at or above each threshold.

    Parameters
    ----------
    y_obs, y_prob, weights, counts
        As in `training.metrics.sample.check`.
    thresholds
        (t,) probabilities strictly between 0 and 1, from the protocol; never picked from the curve.

    Raises
    ------
    ValueError
        When the arrays do not fit together or a threshold is not strictly between 0 and 1.

    Notes
    -----
    NB(t) = TP - FP t / (1 - t) with TP and FP as shares of all, weighted for censoring (Vickers & Elkin 2006; Vickers,
    Cronin, Elkin & Gonen 2008).
    """
    at = np.asarray(thresholds, dtype=np.float64)
    if at.ndim != 1 or not ((at > 0) & (at < 1)).all():
        raise ValueError("thresholds must be (t,) probabilities strictly between 0 and 1, such as 0.05 and 0.30")
    sample = check(y_obs, y_prob, weights, counts)
    if sample.total == 0:
        empty = np.empty(0)
        return NetBenefit(empty, empty, empty, empty, empty, empty, NOTHING_KNOWN)
    order = np.argsort(sample.y_prob)
    first = np.searchsorted(sample.y_prob[order], at, "left")
    weight, y = sample.weights[order] / sample.total, sample.y_obs[order]
    true_positives, false_positives = _from(weight * y, first), _from(weight * (1 - y), first)
    odds = at / (1 - at)
    return NetBenefit(
        thresholds=at,
        model=true_positives - odds * false_positives,
        treat_all=sample.rate - odds * (1 - sample.rate),
        treat_none=np.zeros(len(at)),
        true_positives=true_positives,
        false_positives=false_positives,
    )


def _from(shares: Floats, first: NDArray[np.intp]) -> Floats:
    """Return the sum of the shares from each index to the end."""
    tails: Floats = np.append(np.cumsum(shares[::-1])[::-1], 0.0)[first]
    return tails
