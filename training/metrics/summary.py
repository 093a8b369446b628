"""All measures at once."""

import numpy as np
from numpy.typing import ArrayLike

from riskmodel.cases.table import Floats
from training.metrics import scores
from training.metrics.calibration import Line, in_the_large, line, observed_expected
from training.metrics.discrimination import c_statistic
from training.metrics.measure import Measure, Measures
from training.metrics.sample import Sample, check
from training.metrics.smoothing import smooth_risk, too_few

NOT_ASKED = "not computed: the smooth curve was not asked for"


def measures(
    y_obs: ArrayLike,
    y_prob: ArrayLike,
    weights: ArrayLike | None = None,
    *,
    counts: ArrayLike | None = None,
    smooth: bool = True,
) -> Measures:
    """Return every measure of predicted probabilities against outcomes at the horizon.

    Parameters
    ----------
    y_obs
        (n,) outcome at the horizon, 0 or 1; anything where it is not known (weight 0).
    y_prob
        (n,) predicted probabilities in [0, 1], of the censored children too: they count in the expected number, the
        ICI and the like.
    weights
        (n,) inverse-probability-of-censoring weights, 0 where the outcome is not known; None = 1 for all.
    counts
        (n,) whole numbers: how often each child is in this sample; None = once. The same as repeating rows.
    smooth
        False leaves out ici, e50, e90 and emax, whose smoother costs more than everything else together.

    Raises
    ------
    ValueError
        When the arrays do not fit together (see `training.metrics.sample.check`).

    Examples
    --------
    >>> result = measures([0, 0, 1, 1], [0.1, 0.4, 0.35, 0.8], smooth=False)
    >>> result.c.value
    0.75
    """
    sample = check(y_obs, y_prob, weights, counts)
    likelihood = scores.log_likelihood(sample, sample.y_prob)
    brier, r2 = scores.brier(sample), scores.r_squared(sample, likelihood)
    calibration_line = line(sample)
    ici, e50, e90, emax = _curve_errors(sample) if smooth else (Measure.none(NOT_ASKED),) * 4
    return Measures(
        c=c_statistic(sample),
        observed_expected=observed_expected(sample),
        citl=_intercept(in_the_large(sample)),
        intercept=_intercept(calibration_line),
        slope=_slope(calibration_line),
        ici=ici,
        e50=e50,
        e90=e90,
        emax=emax,
        brier=brier,
        scaled_brier=scores.scaled_brier(sample, brier),
        log_loss=scores.log_loss(sample, likelihood),
        r2=r2.nagelkerke,
        r2_cox_snell=r2.cox_snell,
        r2_mcfadden=r2.mcfadden,
        r2_tjur=scores.r2_tjur(sample),
        r2_recalibrated=_recalibrated(sample, calibration_line),
    )


def _intercept(fit: Line | str) -> Measure:
    return Measure.none(fit) if isinstance(fit, str) else Measure(fit.intercept)


def _slope(fit: Line | str) -> Measure:
    return Measure.none(fit) if isinstance(fit, str) else Measure(fit.slope)


def _recalibrated(sample: Sample, fit: Line | str) -> Measure:
    if isinstance(fit, str):
        return Measure.none(fit)
    return scores.r_squared(sample, scores.log_likelihood(sample, fit.fitted)).nagelkerke


def _curve_errors(sample: Sample) -> tuple[Measure, Measure, Measure, Measure]:
    """Return mean, median, 90th percentile and maximum of |smoothed - predicted| over all children (Austin 2019)."""
    reason = too_few(sample)
    if reason is not None:
        none = Measure.none(reason)
        return none, none, none, none
    errors = np.repeat(_curve_distance(sample), sample.all_counts)
    return (
        Measure(float(errors.mean())),
        Measure(float(np.quantile(errors, 0.5))),
        Measure(float(np.quantile(errors, 0.9))),
        Measure(float(errors.max())),
    )


def _curve_distance(sample: Sample) -> Floats:
    distance: Floats = np.abs(smooth_risk(sample, sample.all_prob) - sample.all_prob)
    return distance
