"""Overall scores: Brier, log loss, and the explained variation of several authors."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import xlog1py, xlogy

from riskmodel.cases.table import Floats
from training.metrics.measure import Measure
from training.metrics.sample import NOTHING_KNOWN, Sample, check

SURE_AND_WRONG = "a probability of exactly 0 or 1 was given to what did not happen: the log loss is infinite"


@dataclass(frozen=True, slots=True)
class RSquared:
    """Explained variation: 1 = everything, 0 = no more than the rate, below 0 = less than the rate."""

    nagelkerke: Measure
    cox_snell: Measure
    mcfadden: Measure


@dataclass(frozen=True, slots=True)
class NoInformation:
    """Mean losses that these predictions would have if they had nothing to do with the outcomes."""

    brier: Measure
    log_loss: Measure


def brier(sample: Sample) -> Measure:
    """Return the weighted mean squared error of the predictions."""
    if sample.total == 0:
        return Measure.none(NOTHING_KNOWN)
    return Measure(float(sample.weights @ (sample.y_obs - sample.y_prob) ** 2) / sample.total)


def scaled_brier(sample: Sample, score: Measure) -> Measure:
    """Return 1 - Brier / Brier of the weighted rate, given the Brier score (index of prediction accuracy)."""
    if sample.lacking is not None or score.value is None:
        return Measure.none(sample.lacking or score.reason or NOTHING_KNOWN)
    return Measure(1 - score.value / (sample.rate * (1 - sample.rate)))


def log_likelihood(sample: Sample, probability: Floats) -> float:
    """Return the weighted log-likelihood of the known outcomes under these probabilities (k,); minus infinity if 0."""
    y = sample.y_obs
    with np.errstate(divide="ignore"):  # log(0) = -inf is the answer, and the caller gives it a reason
        return float(sample.weights @ (xlogy(y, probability) + xlog1py(1 - y, -probability)))


def log_loss(sample: Sample, likelihood: float) -> Measure:
    """Return the mean of -log(probability of what happened), given the log-likelihood of the predictions."""
    if sample.total == 0:
        return Measure.none(NOTHING_KNOWN)
    return Measure.finite(-likelihood / sample.total, SURE_AND_WRONG)


def log_losses(y: Floats, probability: Floats) -> Floats:
    """-log of the probability that was given to what happened, elementwise; probabilities of exactly 0 or 1 are cut."""
    held = np.clip(probability, 1e-12, 1.0 - 1e-12)
    losses: Floats = -(y * np.log(held) + (1.0 - y) * np.log1p(-held))
    return losses


def gain_over_rate(
    y: Floats, left_out: Floats, weights: Floats, *, total: float | None = None, events: float | None = None
) -> float:
    """Weighted log-likelihood of left-out probabilities above that of the rate without the child, summed over children.

    Parameters
    ----------
    y, left_out, weights
        (n,) outcome 0/1 (finite where the weight is 0 too), probability made without the child, weight >= 0.
    total, events
        Sum of the weights, and of those of the events, where the rate is one of more children than these.
    """
    whole = float(weights.sum()) if total is None else total
    of_events = float(weights @ y) if events is None else events
    rate = (of_events - weights * y) / np.maximum(whole - weights, 1e-12)
    return float(weights @ (log_losses(y, rate) - log_losses(y, left_out)))


def r_squared(sample: Sample, likelihood: float) -> RSquared:
    """Return the likelihood-based R-squared, given the log-likelihood of the predictions.

    Notes
    -----
    With l0 the log-likelihood of the weighted rate and n the sum of the weights: Cox and Snell 1 - exp(2 (l0 - l) / n),
    Nagelkerke the same over its maximum 1 - exp(2 l0 / n), McFadden 1 - l / l0.
    """
    reason = sample.lacking or (None if math.isfinite(likelihood) else SURE_AND_WRONG)
    if reason is not None:
        none = Measure.none(reason)
        return RSquared(none, none, none)
    null = sample.events * math.log(sample.rate) + (sample.total - sample.events) * math.log1p(-sample.rate)
    cox_snell = -math.expm1(min(2 * (null - likelihood) / sample.total, 700.0))  # keeps it finite
    highest = -math.expm1(2 * null / sample.total)
    return RSquared(Measure(cox_snell / highest), Measure(cox_snell), Measure(1 - likelihood / null))


def r2_tjur(sample: Sample) -> Measure:
    """Return the mean prediction of the cases minus that of the non-cases (Tjur 2009)."""
    if sample.lacking is not None:
        return Measure.none(sample.lacking)
    weighted = sample.weights * sample.y_prob
    of_cases = float(weighted @ sample.y_obs)
    return Measure(of_cases / sample.events - (float(weighted.sum()) - of_cases) / (sample.total - sample.events))


def no_information(
    y_obs: ArrayLike, y_prob: ArrayLike, weights: ArrayLike | None = None, counts: ArrayLike | None = None
) -> NoInformation:
    """Return sum_i sum_j w_i w_j loss(y_i, p_j) / (sum w)^2 for both losses: the gamma of the .632+ estimator.

    Parameters
    ----------
    y_obs, y_prob, weights, counts
        As in `training.metrics.sample.check`.

    Raises
    ------
    ValueError
        When the arrays do not fit together.

    Notes
    -----
    The double sum needs no double loop: every loss is taken once with y = 1 and once with y = 0 (Efron & Tibshirani
    1997 for the estimator).
    """
    sample = check(y_obs, y_prob, weights, counts)
    if sample.total == 0:
        return NoInformation(Measure.none(NOTHING_KNOWN), Measure.none(NOTHING_KNOWN))
    p, rate = sample.y_prob, sample.rate
    share = sample.weights / sample.total
    squares = rate * float(share @ (1 - p) ** 2) + (1 - rate) * float(share @ p**2)
    with np.errstate(divide="ignore"):
        logs = float(share @ xlogy(rate, p)) + float(share @ xlog1py(1 - rate, -p))
    return NoInformation(Measure(squares), Measure.finite(-logs, SURE_AND_WRONG))
