"""Does the model rank the children: the c-statistic, with DeLong's interval."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from riskmodel.cases.table import Floats
from training.metrics.measure import Measure
from training.metrics.sample import Sample, check

ROUNDING = 1e-12  # a sum of weights over all of them may end a few bits beside 1: complete separation is exactly that


@dataclass(frozen=True, slots=True)
class CInterval:
    """The c-statistic with its standard error and interval, all between 0 and 1."""

    c: Measure
    standard_error: Measure
    low: Measure
    high: Measure


def c_statistic(sample: Sample) -> Measure:
    """Return the area under the ROC curve at the horizon, weighted for censoring; a tie counts half.

    Notes
    -----
    c = sum over cases i and non-cases j of w_i w_j [p_i > p_j] / sum w_i w_j, in O(n log n). Non-cases are all children
    known not to have had the event, those with a competing event among them (Blanche, Dartigues & Jacqmin-Gadda 2013).
    """
    if sample.lacking is not None:
        return Measure.none(sample.lacking)
    case = sample.case
    case_weights, other_weights = sample.weights[case], sample.weights[~case]
    below = _weight_below(sample.y_prob[case], sample.y_prob[~case], other_weights)
    share = float(case_weights @ below / (case_weights.sum() * other_weights.sum()))
    return Measure(float(round(share)) if abs(share - round(share)) < ROUNDING else share)


def delong_interval(
    y_obs: ArrayLike, y_prob: ArrayLike, weights: ArrayLike | None = None, *, level: float = 0.95
) -> CInterval:
    """Return the c-statistic with DeLong's standard error and interval, cut to [0, 1].

    Parameters
    ----------
    y_obs, y_prob, weights
        As in `training.metrics.sample.check`. With unequal weights the placements are weighted and the weights taken
        as known: an approximation; DeLong's own estimate when all are equal.
    level
        Coverage of the interval, between 0 and 1.

    Raises
    ------
    ValueError
        When the arrays do not fit together or the level is not between 0 and 1.

    Notes
    -----
    Variance = S_cases / m + S_non-cases / n of the placement values (DeLong, DeLong & Clarke-Pearson 1988).
    """
    if not 0 < level < 1:
        raise ValueError(f"level must lie between 0 and 1: found {level}; 0.95 is usual")
    sample = check(y_obs, y_prob, weights)
    c = c_statistic(sample)
    error = c_standard_error(sample)
    if c.value is None or error.value is None:
        none = Measure.none(error.reason or c.reason or "")
        return CInterval(c, error, none, none)
    reach = float(ndtri(0.5 + level / 2)) * error.value
    return CInterval(c, error, Measure(max(0.0, c.value - reach)), Measure(min(1.0, c.value + reach)))


def c_standard_error(sample: Sample) -> Measure:
    """Return DeLong's standard error of the c-statistic (see `delong_interval`); needs two cases and two non-cases."""
    if sample.lacking is not None:
        return Measure.none(sample.lacking)
    case = sample.case
    if min(case.sum(), (~case).sum()) < 2:
        return Measure.none("a standard error of c needs two cases and two non-cases")
    p_case, p_other = sample.y_prob[case], sample.y_prob[~case]
    w_case, w_other = sample.weights[case], sample.weights[~case]
    of_cases = _weight_below(p_case, p_other, w_other) / w_other.sum()
    of_others = _weight_below(-p_other, -p_case, w_case) / w_case.sum()
    return Measure(float(np.sqrt(_mean_variance(of_cases, w_case) + _mean_variance(of_others, w_other))))


def _weight_below(at: Floats, values: Floats, weights: Floats) -> Floats:
    """Return for each of `at` the weight of the values below it, plus half the weight of those equal to it."""
    order = np.argsort(values)
    ordered = values[order]
    heaped = np.concatenate(([0.0], np.cumsum(weights[order])))
    halves: Floats = heaped[np.searchsorted(ordered, at, "left")] + heaped[np.searchsorted(ordered, at, "right")]
    return halves / 2


def _mean_variance(values: Floats, weights: Floats) -> float:
    """Return the variance of the weighted mean of independent values (S^2 / m when all weights are equal)."""
    share = weights / weights.sum()
    size = len(values)
    return float(np.sum(share**2 * (values - share @ values) ** 2) * size / (size - 1))
