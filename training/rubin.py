"""Rubin's rules: one answer with its standard error from analyses of several completed data sets."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit, logit
from scipy.stats import t

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused


@dataclass(frozen=True, slots=True, eq=False)
class Combined:
    """Estimates combined over m completed data sets; every array has the shape of one data set's estimates.

    Attributes
    ----------
    estimate
        Mean over the data sets.
    within, between, total
        Mean variance, variance of the estimates, and within + (1 + 1/m) between.
    degrees_of_freedom
        After Barnard and Rubin; infinite only where nothing was missing and the sample counts as unlimited.
    missing_share
        Share of the total variance that comes from what is missing, (1 + 1/m) between / total, 0 to 1.
    missing_information
        Fraction of missing information, the same corrected for the finite m.
    """

    estimate: Floats
    within: Floats
    between: Floats
    total: Floats
    degrees_of_freedom: Floats
    missing_share: Floats
    missing_information: Floats

    @property
    def standard_error(self) -> Floats:
        """Square root of the total variance."""
        return np.sqrt(self.total)

    @property
    def p_value(self) -> Floats:
        """Two-sided p-value of an estimate of 0."""
        return np.asarray(2 * t.sf(np.abs(self.estimate) / self.standard_error, self.degrees_of_freedom))

    def interval(self, level: float = 0.95) -> tuple[Floats, Floats]:
        """Return the ends of the t interval."""
        reach = t.ppf(0.5 + level / 2, self.degrees_of_freedom) * self.standard_error
        return self.estimate - reach, self.estimate + reach


@dataclass(frozen=True, slots=True)
class CombinedC:
    """A c-statistic combined on the logit scale: `c` with its interval, and the logit with its standard error."""

    c: float
    low: float
    high: float
    logit_c: float
    logit_error: float


def combine(estimates: ArrayLike, variances: ArrayLike, *, complete_df: float | None = None) -> Combined:
    """Combine estimates from m completed data sets.

    Parameters
    ----------
    estimates, variances
        (m, ...) one data set along the first axis, m >= 2; variances > 0.
    complete_df
        Degrees of freedom that the analysis would have with nothing missing (children - coefficients); None = no limit.

    Raises
    ------
    ValueError
        When the arrays do not fit together, a variance is not above 0, or the degrees of freedom are not.
    FitRefused
        When there are fewer than two data sets.

    Notes
    -----
    Rubin 1987; Barnard & Rubin, Biometrika 1999;86:948. With L the missing share, 1/df = L^2 / (m - 1) + 1/df_observed,
    df_observed = (df + 1) / (df + 3) df (1 - L) of the complete df.
    """
    q, u = _check(estimates, variances, complete_df)
    m = len(q)
    within, between = u.mean(axis=0), q.var(axis=0, ddof=1)
    total = within + (1 + 1 / m) * between
    share = (1 + 1 / m) * between / total
    df = _degrees_of_freedom(share, m, complete_df)
    ratio = share / (1 - share)  # relative increase in variance
    return Combined(
        estimate=q.mean(axis=0),
        within=within,
        between=between,
        total=total,
        degrees_of_freedom=df,
        missing_share=share,
        missing_information=(ratio + 2 / (df + 3)) / (1 + ratio),
    )


def combine_c(
    c: ArrayLike, standard_errors: ArrayLike, *, complete_df: float | None = None, level: float = 0.95
) -> CombinedC:
    """Combine c-statistics from m completed data sets on the logit scale, where they are more nearly normal.

    Parameters
    ----------
    c, standard_errors
        (m,) strictly between 0 and 1, and above 0.
    complete_df, level
        As in `combine`, and the interval's coverage.

    Raises
    ------
    ValueError
        When a c-statistic is not strictly between 0 and 1, or as `combine`.
    FitRefused
        When there are fewer than two data sets.

    Notes
    -----
    SE(logit c) = SE(c) / (c (1 - c)).
    """
    values, errors = np.asarray(c, dtype=np.float64), np.asarray(standard_errors, dtype=np.float64)
    if not ((values > 0) & (values < 1)).all():
        raise ValueError("c-statistics to combine must lie strictly between 0 and 1, where their logit is finite")
    combined = combine(logit(values), (errors / (values * (1 - values))) ** 2, complete_df=complete_df)
    low, high = combined.interval(level)
    return CombinedC(
        c=float(expit(combined.estimate)),
        low=float(expit(low)),
        high=float(expit(high)),
        logit_c=float(combined.estimate),
        logit_error=float(combined.standard_error),
    )


def _check(estimates: ArrayLike, variances: ArrayLike, complete_df: float | None) -> tuple[Floats, Floats]:
    q, u = np.asarray(estimates, dtype=np.float64), np.asarray(variances, dtype=np.float64)
    if q.ndim < 1 or q.shape != u.shape:
        raise ValueError(f"estimates and variances must be (m, ...) of one shape: found {q.shape} and {u.shape}")
    if not (np.isfinite(q).all() and np.isfinite(u).all() and (u > 0).all()):
        raise ValueError("estimates must be finite and variances finite and above 0")
    if complete_df is not None and not complete_df > 0:
        raise ValueError(f"complete_df must be above 0, or None for no limit: found {complete_df}")
    if len(q) < 2:
        raise FitRefused(f"Rubin's rules need at least 2 completed data sets: found {len(q)}")
    return q, u


def _degrees_of_freedom(share: Floats, m: int, complete_df: float | None) -> Floats:
    """Return Barnard and Rubin's degrees of freedom, added up as reciprocals so that no missing value is no limit."""
    reciprocal = share**2 / (m - 1)
    if complete_df is not None:
        reciprocal = reciprocal + (complete_df + 3) / ((complete_df + 1) * complete_df * (1 - share))
    return np.divide(1.0, reciprocal, out=np.full_like(share, np.inf), where=reciprocal > 0)
