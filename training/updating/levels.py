"""Draws of an updated model: how sure it is after the step that the closed test chose."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.updating.likelihood import Fit, Sample

MOST_STEPS = 60
SMALL_STEP = 1e-10


def opposite_normals(count: int, width: int, rng: np.random.Generator) -> Floats:
    """(count, width) standard normals, the second half the first with its signs turned: their mean is exactly 0."""
    half = rng.standard_normal(((count + 1) // 2, width))
    return np.concatenate([half, -half])[:count]


def recalibrated(draws: Floats, columns: Floats, sample: Sample, slopes: Floats, rng: np.random.Generator) -> Floats:
    """(K, 1 + C) draws, each brought to the level of these children by itself, with that level's standard error.

    Parameters
    ----------
    draws, columns
        (K, 1 + C) of the parent; (n, C) of the children.
    slopes
        (K,) by which each draw's log-odds are multiplied first; 1 where only the level moves.

    Notes
    -----
    The level a of draw k solves sum w (y - p) = 0 at its own log-odds; a normal error with the variance of a, the
    sandwich where the sample is weighted, is added. So what these children say of the level replaces what the parent
    was unsure of, and nothing else.
    """
    used = sample.weights > 0.0
    scaled = draws * slopes[:, None]
    log_odds = scaled[:, :1] + scaled[:, 1:] @ columns[used].T
    levels, errors = _levels(log_odds, Sample(sample.y[used], sample.weights[used]))
    noise = opposite_normals(len(draws), 1, rng)[:, 0]
    out = scaled.copy()
    out[:, 0] += levels + errors * noise
    return out


def _levels(log_odds: Floats, sample: Sample) -> tuple[Floats, Floats]:
    """(K,) levels and their standard errors, for (K, m) log-odds of the children who take part."""
    levels = np.zeros(len(log_odds))
    for _ in range(MOST_STEPS):
        p = expit(levels[:, None] + log_odds)
        information = (p * (1.0 - p)) @ sample.weights
        step = (sample.y - p) @ sample.weights / information
        # Where a step would overshoot, a shorter one ascends (self-concordance of the logistic loss).
        levels = levels + step * np.log1p(np.abs(step)) / np.maximum(np.abs(step), 1e-300)
        if np.abs(step).max() < SMALL_STEP:
            break
    p = expit(levels[:, None] + log_odds)
    information = (p * (1.0 - p)) @ sample.weights
    if not sample.weighted:
        return levels, information**-0.5
    return levels, np.sqrt((sample.y - p) ** 2 @ sample.weights**2) / information


def slopes(line: Fit, sample: Sample, count: int, rng: np.random.Generator) -> Floats:
    """(count,) slopes drawn from the estimate of a calibration line and its standard error."""
    error = float(line.spread(sample)[1, 1]) ** 0.5
    drawn: Floats = line.coefficients[1] + error * opposite_normals(count, 1, rng)[:, 0]
    return drawn


def normal_draws(mean: Floats, covariance: Floats, count: int, rng: np.random.Generator) -> Floats:
    """(count, k) draws of a Gaussian, in opposite pairs."""
    factor = np.linalg.cholesky(covariance)
    drawn: Floats = mean + opposite_normals(count, len(mean), rng) @ factor.T
    return drawn
