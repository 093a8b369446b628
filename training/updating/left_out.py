"""What an updated model says of each child when that child took no part in the update."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.updating.likelihood import Fit, Sample


def left_out(design: Floats, sample: Sample, offset: Floats, found: Fit) -> Floats:
    """(n,) probability of each child with that child left out of the fit, approximately.

    Notes
    -----
    eta - h w (y - p) / (1 - h W), h = x' inv(H) x, W = w p (1 - p): one Newton step from the fit without the child.
    """
    log_odds: Floats = offset + design @ found.coefficients
    p = expit(log_odds)
    influence = np.einsum("ni,ij,nj->n", design, found.covariance, design)
    pull = influence * sample.weights * (np.where(sample.weights > 0.0, sample.y, 0.0) - p)
    curvature = sample.weights * p * (1.0 - p)
    return expit(log_odds - pull / np.maximum(1.0 - influence * curvature, 1e-6))


def gain_over_rate(sample: Sample, probability: Floats) -> float:
    """Log-likelihood of left-out probabilities (n,) above that of the rate without the child."""
    y, weights = sample.y, sample.weights
    total = weights.sum()
    rate = (weights @ y - weights * y) / np.maximum(total - weights, 1e-12)
    return float(weights @ (_log_likelihood(y, probability) - _log_likelihood(y, rate)))


def _log_likelihood(y: Floats, p: Floats) -> Floats:
    held = np.clip(p, 1e-12, 1.0 - 1e-12)
    return y * np.log(held) + (1.0 - y) * np.log1p(-held)
