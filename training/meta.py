"""Pooling one measure over centres that truly differ: random-effects meta-analysis with a prediction interval."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.stats import chi2, t

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused


class Heterogeneity(Enum):
    """How the variance between centres is estimated: DerSimonian and Laird's moments, or restricted likelihood."""

    DL = "dl"
    REML = "reml"


@dataclass(frozen=True, slots=True)
class Pooled:
    """A measure pooled over k centres, on the scale on which it was given.

    Attributes
    ----------
    mean, standard_error
        Average over centres, with the standard error that takes tau2 as known.
    hartung_knapp_error
        Standard error after Hartung and Knapp, which does not; the intervals stand on it.
    low, high
        Interval of the average, t with k - 1 degrees of freedom.
    prediction_low, prediction_high
        Interval for the measure in a new centre, mean -/+ t(k - 1) sqrt(hartung_knapp_error^2 + tau2).
    tau2
        Variance between centres.
    i2
        Share of the variance that is between centres, 0 to 1.
    q, q_p_value
        Cochran's statistic with k - 1 degrees of freedom, and its p-value.
    """

    centres: int
    mean: float
    standard_error: float
    hartung_knapp_error: float
    low: float
    high: float
    prediction_low: float
    prediction_high: float
    tau2: float
    i2: float
    q: float
    q_p_value: float


def random_effects(
    effects: ArrayLike,
    standard_errors: ArrayLike,
    *,
    heterogeneity: Heterogeneity = Heterogeneity.REML,
    level: float = 0.95,
    never_below_normal: bool = False,
) -> Pooled:
    """Pool one measure over centres.

    Parameters
    ----------
    effects, standard_errors
        (k,) the measure in each centre on a scale where it is nearly normal (logit c, log O/E, slope), k >= 2, and its
        standard error > 0.
    level
        Coverage of both intervals, between 0 and 1.
    never_below_normal
        True keeps the Hartung-Knapp error at least as large as the usual one: with few centres that happen to agree it
        can be far too small.

    Raises
    ------
    ValueError
        When the arrays do not fit together, hold something that is not finite, or the level is not between 0 and 1.
    FitRefused
        When there are fewer than two centres.

    Notes
    -----
    Mean = sum w y / sum w with w = 1 / (v + tau2); Hartung-Knapp variance = sum w (y - mean)^2 / ((k - 1) sum w)
    (Hartung & Knapp 2001; IntHout, Ioannidis & Borm 2014). The prediction interval has k - 1 degrees of freedom, not
    the k - 2 of Higgins, Thompson & Spiegelhalter 2009.
    """
    y, variances = _check(effects, standard_errors, level)
    tau2 = _dersimonian_laird(y, variances) if heterogeneity is Heterogeneity.DL else _restricted(y, variances)
    weights = 1 / (variances + tau2)
    mean = float(weights @ y / weights.sum())
    error = float(weights.sum() ** -0.5)
    knapp = float(np.sqrt(weights @ (y - mean) ** 2 / ((len(y) - 1) * weights.sum())))
    knapp = max(knapp, error) if never_below_normal else knapp
    reach = float(t.ppf(0.5 + level / 2, len(y) - 1))
    beyond = reach * float(np.hypot(knapp, np.sqrt(tau2)))
    q = _cochran(y, variances)
    return Pooled(
        centres=len(y),
        mean=mean,
        standard_error=error,
        hartung_knapp_error=knapp,
        low=mean - reach * knapp,
        high=mean + reach * knapp,
        prediction_low=mean - beyond,
        prediction_high=mean + beyond,
        tau2=tau2,
        i2=tau2 / (tau2 + _typical_variance(variances)),
        q=q,
        q_p_value=float(chi2.sf(q, len(y) - 1)),
    )


def _check(effects: ArrayLike, standard_errors: ArrayLike, level: float) -> tuple[Floats, Floats]:
    """Return effects and variances, (k,) each."""
    y = np.asarray(effects, dtype=np.float64)
    errors = np.asarray(standard_errors, dtype=np.float64)
    if y.ndim != 1 or y.shape != errors.shape:
        raise ValueError(f"effects and standard errors must be (k,) of one length: found {y.shape} and {errors.shape}")
    if not (np.isfinite(y).all() and np.isfinite(errors).all() and (errors > 0).all()):
        raise ValueError("effects must be finite and standard errors finite and above 0; leave such a centre out")
    if not 0 < level < 1:
        raise ValueError(f"level must lie between 0 and 1: found {level}; 0.95 is usual")
    if len(y) < 2:
        raise FitRefused(f"pooling over centres needs at least 2 with an estimate: found {len(y)}")
    return y, errors**2


def _cochran(y: Floats, variances: Floats) -> float:
    """Return the weighted sum of squares about the mean of centres that do not differ."""
    weights = 1 / variances
    return float(weights @ (y - weights @ y / weights.sum()) ** 2)


def _typical_variance(variances: Floats) -> float:
    """Return the variance within a typical centre (Higgins & Thompson 2002)."""
    weights = 1 / variances
    return float((len(weights) - 1) * weights.sum() / (weights.sum() ** 2 - weights @ weights))


def _dersimonian_laird(y: Floats, variances: Floats) -> float:
    """Return the moment estimate of the variance between centres, at least 0 (DerSimonian & Laird 1986)."""
    weights = 1 / variances
    spread = float(weights.sum() - weights @ weights / weights.sum())
    return max(0.0, (_cochran(y, variances) - (len(y) - 1)) / spread)


def _restricted(y: Floats, variances: Floats) -> float:
    """Return the restricted maximum-likelihood estimate of the variance between centres, at least 0.

    The derivative of the restricted log-likelihood in tau2 falls through 0 at the estimate, or is negative from 0 on.
    """

    def derivative(tau2: float) -> float:
        weights = 1 / (variances + tau2)
        away = weights * (y - weights @ y / weights.sum())
        return float(away @ away - weights.sum() + weights @ weights / weights.sum()) / 2

    if derivative(0.0) <= 0:
        return 0.0
    highest = float(np.ptp(y)) ** 2 + float(variances.max())
    while derivative(highest) > 0:
        highest *= 2
    return float(brentq(derivative, 0.0, highest, xtol=1e-14, rtol=1e-14))
