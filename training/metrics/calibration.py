"""Are the predicted risks of the right size: observed over expected, calibration-in-the-large, the calibration line."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit

from riskmodel.cases.table import Floats
from training.metrics.measure import Measure
from training.metrics.sample import NOTHING_KNOWN, Sample

LEAST_SPREAD = 1e-6  # SD of the log-odds below which they are one value and rounding
MOST_STEPS = 100
SMALL_CHANGE = 1e-6  # of a log-odds: a full Newton step this small leaves an error of about its square

NOTHING_EXPECTED = "every prediction is next to 0, so next to no event is expected"
ZERO_OR_ONE = "a predicted probability is exactly 0 or 1, whose log-odds are infinite"
ALL_ALIKE = "the predictions do not differ: a slope needs some that do"
SEPARATED = "the predictions separate cases from non-cases completely: the slope has no finite estimate"
NOT_CONVERGED = "the calibration fit did not converge"


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A fitted line logit(risk) = intercept + slope * x, with x (k,) and the risk fitted there (k,).

    `slope_free` is False where the slope was held at 1.
    """

    intercept: float
    slope: float
    x: Floats
    fitted: Floats
    slope_free: bool


def observed_expected(sample: Sample) -> Measure:
    """Return the observed weighted rate over the mean prediction of all children, the censored ones included.

    Notes
    -----
    O = sum(counts w y) / sum(counts w); E = sum(counts p) / sum(counts). The prediction of a censored child is known
    and belongs to E; its outcome is carried in O by the weights of those who were followed.
    """
    if sample.total == 0:
        return Measure.none(NOTHING_KNOWN)
    expected = float(sample.all_counts @ sample.all_prob) / float(sample.all_counts.sum())
    if expected == 0:
        return Measure.none("every prediction is 0, so no event is expected")
    with np.errstate(over="ignore"):  # too large to be written is the answer, and has its reason
        return Measure.finite(float(np.divide(sample.rate, expected)), NOTHING_EXPECTED)


def in_the_large(sample: Sample) -> Line | str:
    """Fit the intercept with the slope held at 1 (y ~ offset(logit p), weighted). Return the line, or why none."""
    if sample.lacking is not None:
        return sample.lacking
    log_odds = logit(sample.y_prob)
    if not np.isfinite(log_odds).all():
        return ZERO_OR_ONE
    return fit_line(sample.y_obs, sample.weights, log_odds, slope_free=False) or NOT_CONVERGED


def line(sample: Sample) -> Line | str:
    """Fit intercept and slope (y ~ logit p, weighted). Return the line, or why there is none.

    A finite fit exists exactly when the log-odds differ and cases and non-cases overlap on them; both are asked first.
    """
    if sample.lacking is not None:
        return sample.lacking
    log_odds = logit(sample.y_prob)
    reason = _no_slope(sample, log_odds)
    if reason is not None:
        return reason
    return fit_line(sample.y_obs, sample.weights, log_odds, slope_free=True) or NOT_CONVERGED


def _no_slope(sample: Sample, log_odds: Floats) -> str | None:
    if not np.isfinite(log_odds).all():
        return ZERO_OR_ONE
    if log_odds.std() < LEAST_SPREAD:
        return ALL_ALIKE
    case = sample.case
    of_cases, of_others = log_odds[case], log_odds[~case]
    apart = of_others.max() <= of_cases.min() or of_cases.max() <= of_others.min()
    return SEPARATED if apart else None


def fit_line(y_obs: Floats, weights: Floats, x: Floats, *, slope_free: bool) -> Line | None:
    """Fit logit(risk) = intercept + slope * x by damped Newton steps; None if that does not converge.

    Parameters
    ----------
    y_obs, weights, x
        (k,) outcome 0/1 with both present, weight > 0, finite log-odds.
    slope_free
        False holds the slope at 1 and fits the intercept alone.

    Notes
    -----
    A Newton step that would change some log-odds by at most b is shortened by log(1 + b) / b. Along the step the third
    derivative of the log-likelihood is at most b times the second, so every step ascends without a line search, and the
    end is still quadratic (Bach 2010, Electronic Journal of Statistics 4:384: self-concordance of the logistic loss).
    """
    intercept, slope = 0.0, 1.0
    low, high = float(x.min()), float(x.max())
    for _ in range(MOST_STEPS):
        fitted = expit(intercept + slope * x)
        step = _newton_step(weights * (y_obs - fitted), weights * fitted * (1 - fitted), x, slope_free=slope_free)
        change = max(abs(step[0] + step[1] * low), abs(step[0] + step[1] * high))
        if not change < math.inf:
            return None
        shorten = 1.0 if change < SMALL_CHANGE else math.log1p(change) / change
        intercept, slope = intercept + shorten * step[0], slope + shorten * step[1]
        if change < SMALL_CHANGE:
            return Line(intercept, slope, x, expit(intercept + slope * x), slope_free)
    return None


def _newton_step(residuals: Floats, curvature: Floats, x: Floats, *, slope_free: bool) -> tuple[float, float]:
    """Return the full Newton step of intercept and slope; infinite where the likelihood is flat."""
    flat = float(curvature.sum())
    if flat == 0:
        return math.inf, 0.0
    rise = float(residuals.sum()) / flat
    if not slope_free:
        return rise, 0.0
    centre = float(curvature @ x) / flat
    across = x - centre
    spread = float(curvature @ (across * across))
    if spread == 0:
        return math.inf, 0.0
    tilt = float(residuals @ across) / spread
    return rise - tilt * centre, tilt
