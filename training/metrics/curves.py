"""Numbers behind two pictures: the calibration curve, and the distribution of the predictions by outcome."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskmodel.cases.table import Floats
from training.metrics.sample import check
from training.metrics.smoothing import smooth_risk, too_few

DEPTH = 5  # the grid begins and ends this many children deep, so that it shows no child's own prediction
POINTS = 50
BINS = 20


@dataclass(frozen=True, slots=True, eq=False)
class CalibrationCurve:
    """Smoothed observed risk (g,) at predicted probabilities (g,); empty with a reason if there is none."""

    y_prob: Floats
    observed: Floats
    reason: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class BandedCurve:
    """A calibration curve (g,) with what `level` of its resamples hold, pointwise (g,).

    What is empty has its `reason`: curve and band, or the band alone.
    """

    predicted: Floats
    observed: Floats
    low: Floats
    high: Floats
    reason: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class RiskDistribution:
    """How the predictions are spread, by outcome.

    Attributes
    ----------
    edges
        (b + 1,) edges of the bins over [0, 1]; a bin holds its lower edge, the last one 1 as well.
    events, non_events
        (b,) weighted number of children with and without the event.
    not_known
        (b,) number of children whose outcome at the horizon is not known (they are in the weights of the others).
    """

    edges: Floats
    events: Floats
    non_events: Floats
    not_known: Floats


def calibration_curve(
    y_obs: ArrayLike,
    y_prob: ArrayLike,
    weights: ArrayLike | None = None,
    counts: ArrayLike | None = None,
    *,
    grid: ArrayLike | None = None,
) -> CalibrationCurve:
    """Return the smooth calibration curve on a grid of predicted probabilities.

    Parameters
    ----------
    y_obs, y_prob, weights, counts
        As in `training.metrics.sample.check`.
    grid
        (g,) probabilities in [0, 1]; None = 50 even steps from the 5th smallest to the 5th largest prediction.

    Raises
    ------
    ValueError
        When the arrays do not fit together or the grid leaves [0, 1].

    Notes
    -----
    The smoother is `training.metrics.smoothing.local_quadratic`; others give visibly different curves, so name it.
    """
    sample = check(y_obs, y_prob, weights, counts)
    reason = too_few(sample)
    if reason is not None:
        return CalibrationCurve(np.empty(0), np.empty(0), reason)
    if grid is None:
        ordered = np.sort(np.repeat(sample.y_prob, sample.known_counts))
        at = np.linspace(ordered[DEPTH - 1], ordered[-DEPTH], POINTS)
    else:
        at = np.asarray(grid, dtype=np.float64)
    if at.ndim != 1 or not ((at >= 0) & (at <= 1)).all():
        raise ValueError("grid must be (g,) probabilities within [0, 1]")
    return CalibrationCurve(at, smooth_risk(sample, at))


def banded(curve: CalibrationCurve, resampled: Floats, *, level: float, fewest_share: float = 0.0) -> BandedCurve:
    """The curve with the band that its resamples make.

    Parameters
    ----------
    resampled
        (B, g) the curve of each resample on the same grid; a row with NaN where there was none.
    level
        Share of the resamples within the band, in (0, 1).
    fewest_share
        With a curve from fewer of the resamples than this there is no band.
    """
    nothing = np.empty(0)
    if curve.reason is not None:
        return BandedCurve(nothing, nothing, nothing, nothing, curve.reason)
    held = resampled[~np.isnan(resampled).any(axis=1)]
    if len(held) < max(fewest_share * len(resampled), 1.0):
        reason = f"only {len(held)} of {len(resampled)} bootstrap samples gave a curve"
        return BandedCurve(curve.y_prob, curve.observed, nothing, nothing, reason)
    low, high = np.quantile(held, ((1.0 - level) / 2.0, (1.0 + level) / 2.0), axis=0)
    return BandedCurve(curve.y_prob, curve.observed, low, high)


def risk_distribution(
    y_obs: ArrayLike,
    y_prob: ArrayLike,
    weights: ArrayLike | None = None,
    counts: ArrayLike | None = None,
    *,
    bins: int = BINS,
) -> RiskDistribution:
    """Return how many children fall into each of `bins` equal bins of predicted probability, by outcome.

    Raises
    ------
    ValueError
        When the arrays do not fit together or there is no bin.
    """
    if bins < 1:
        raise ValueError(f"bins must be at least 1: found {bins}")
    sample = check(y_obs, y_prob, weights, counts)
    edges = np.linspace(0, 1, bins + 1)

    def heap(prob: Floats, amount: Floats) -> Floats:
        return np.histogram(prob, edges, weights=amount)[0].astype(np.float64)

    known = heap(sample.y_prob, sample.known_counts.astype(np.float64))
    return RiskDistribution(
        edges=edges,
        events=heap(sample.y_prob, sample.weights * sample.y_obs),
        non_events=heap(sample.y_prob, sample.weights * (1 - sample.y_obs)),
        not_known=heap(sample.all_prob, sample.all_counts.astype(np.float64)) - known,
    )
