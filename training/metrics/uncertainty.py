"""Standard errors of four measures on the scale where they are nearly normal: for intervals, and to pool centres."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import logit, ndtri

from riskmodel.cases.table import Floats
from training.metrics.calibration import Line, in_the_large, line, observed_expected
from training.metrics.discrimination import c_standard_error, c_statistic
from training.metrics.sample import Sample, check

AT_THE_END = "c is exactly 0 or 1, so its logit is infinite"


@dataclass(frozen=True, slots=True)
class Estimate:
    """An estimate with its standard error; both None with a reason if there is none."""

    value: float | None
    standard_error: float | None
    reason: str | None = None

    def interval(self, level: float = 0.95) -> tuple[float, float] | None:
        """Return the normal interval value -/+ z * standard error, or None without an estimate."""
        if self.value is None or self.standard_error is None:
            return None
        reach = float(ndtri(0.5 + level / 2)) * self.standard_error
        return self.value - reach, self.value + reach


@dataclass(frozen=True, slots=True)
class Estimates:
    """logit c, log(observed / expected), calibration-in-the-large and slope, each with its standard error."""

    logit_c: Estimate
    log_observed_expected: Estimate
    citl: Estimate
    slope: Estimate


def estimates(y_obs: ArrayLike, y_prob: ArrayLike, weights: ArrayLike | None = None) -> Estimates:
    """Return four measures with standard errors, from the children themselves (not from a replay).

    Parameters
    ----------
    y_obs, y_prob, weights
        As in `training.metrics.sample.check`.

    Raises
    ------
    ValueError
        When the arrays do not fit together.

    Notes
    -----
    All take predictions and censoring weights as known. log O/E: sqrt((1 - O) / (n O)) without weights (Debray et al.
    2017), its linearised form with. citl and slope: inverse information without weights, sandwich with unequal ones.
    """
    sample = check(y_obs, y_prob, weights)
    return Estimates(
        logit_c=_logit_c(sample),
        log_observed_expected=_log_observed_expected(sample),
        citl=_citl(sample),
        slope=_slope(sample),
    )


def line_covariance(fit: Line, y_obs: Floats, weights: Floats) -> Floats:
    """Return the covariance of a calibration line's coefficients: of both (2, 2), or of the intercept alone (1, 1).

    Inverse information where all weights are 1, else the sandwich.
    """
    ones = np.ones(len(fit.x))
    columns = np.stack((ones, fit.x)) if fit.slope_free else ones[np.newaxis]
    information = (columns * (weights * fit.fitted * (1 - fit.fitted))) @ columns.T
    inverse = np.asarray(np.linalg.inv(information), dtype=np.float64)
    if (weights == 1).all():
        return inverse
    scores = columns * (weights * (y_obs - fit.fitted))
    return inverse @ (scores @ scores.T) @ inverse


def _logit_c(sample: Sample) -> Estimate:
    c, error = c_statistic(sample), c_standard_error(sample)
    if c.value is None or error.value is None:
        return Estimate(None, None, c.reason or error.reason)
    if c.value in (0.0, 1.0):
        return Estimate(None, None, AT_THE_END)
    return Estimate(float(logit(c.value)), error.value / (c.value * (1 - c.value)))


def _log_observed_expected(sample: Sample) -> Estimate:
    ratio = observed_expected(sample)
    if sample.lacking is not None or ratio.value is None:
        return Estimate(None, None, sample.lacking or ratio.reason)
    away = sample.weights * (sample.y_obs - sample.rate)
    return Estimate(float(np.log(ratio.value)), float(np.sqrt(away @ away)) / sample.events)


def _citl(sample: Sample) -> Estimate:
    fit = in_the_large(sample)
    if isinstance(fit, str):
        return Estimate(None, None, fit)
    return Estimate(fit.intercept, _last_error(fit, sample))


def _slope(sample: Sample) -> Estimate:
    fit = line(sample)
    if isinstance(fit, str):
        return Estimate(None, None, fit)
    return Estimate(fit.slope, _last_error(fit, sample))


def _last_error(fit: Line, sample: Sample) -> float:
    return float(np.sqrt(line_covariance(fit, sample.y_obs, sample.weights)[-1, -1]))
