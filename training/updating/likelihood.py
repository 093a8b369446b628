"""Weighted logistic likelihood with an offset and, where wanted, a Gaussian prior, by Newton's method."""

from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from riskmodel.model import expit
from training.posterior import WIDEST_ERROR

MOST_STEPS = 60
SMALL_GAIN = 1e-11  # of the objective, relative: below it a Newton step changes nothing that matters
SEPARATED = (
    "the fit must have finite coefficients, but the events are separated from the rest by the predictors; accepted: "
    "a simpler update, or more children"
)


@dataclass(frozen=True, slots=True)
class Sample:
    """n children: outcome 0/1 and weight, 0 where it is not known. Only those of weight above 0 take part in a fit."""

    y: Floats
    weights: Floats

    @property
    def weighted(self) -> bool:
        """Whether the weights of those who take part differ from 1: the likelihood is then not one."""
        return bool((self.weights[self.weights > 0.0] != 1.0).any())


@dataclass(frozen=True, slots=True)
class Gaussian:
    """A prior of k coefficients: mean (k,) and precision (k, k)."""

    mean: Floats
    precision: Floats


@dataclass(frozen=True, slots=True)
class Fit:
    """`coefficients` (k,), `log_likelihood` without the prior, `information` (k, k) with it, `scores` (n, k)."""

    coefficients: Floats
    log_likelihood: float
    information: Floats
    scores: Floats

    @property
    def covariance(self) -> Floats:
        """(k, k) inverse of the information: right for a likelihood, and for a posterior."""
        return np.linalg.inv(self.information).astype(np.float64)

    @property
    def sandwich(self) -> Floats:
        """(k, k) covariance that stands with weights too, which are taken as known."""
        inverse = self.covariance
        return inverse @ (self.scores.T @ self.scores) @ inverse

    def spread(self, sample: Sample) -> Floats:
        """(k, k) covariance of the coefficients: the sandwich where the sample is weighted."""
        return self.sandwich if sample.weighted else self.covariance


def fit(design: Floats, sample: Sample, offset: Floats, prior: Gaussian | None = None) -> Fit:
    """Maximise the weighted log-likelihood, plus the logarithm of the prior.

    Parameters
    ----------
    design : (n, k) columns, one of them constant if there is to be an intercept; k may be 0
    offset : (n,) fixed part of the log-odds

    Notes
    -----
    Of separated events the log-likelihood is the one that is approached; `refuse_separation` tells.
    """
    used = sample.weights > 0.0
    problem = _Problem(design[used], sample.y[used], sample.weights[used], offset[used], prior)
    theta = np.zeros(design.shape[1]) if prior is None else prior.mean.copy()
    value = problem.value(theta)
    for _ in range(MOST_STEPS):
        ahead = problem.walk(theta, value)
        gain, (theta, value) = problem.value(ahead) - value, (ahead, problem.value(ahead))
        if gain <= SMALL_GAIN * max(1.0, abs(value)):
            break
    return problem.told(theta, len(design), used)


def refuse_separation(found: Fit, design: Floats) -> None:
    """Refuse a fit without a prior that ran away.

    Raises
    ------
    FitRefused
        When a standard error is one that only separated events produce.
    """
    spread = np.maximum(design.std(axis=0), 1e-12)
    try:
        errors = np.sqrt(np.diag(np.linalg.inv(found.information)))
    except np.linalg.LinAlgError:
        raise FitRefused(SEPARATED) from None
    if not (errors * spread < WIDEST_ERROR).all():
        raise FitRefused(SEPARATED)


@dataclass(frozen=True, slots=True)
class _Problem:
    design: Floats
    y: Floats
    weights: Floats
    offset: Floats
    prior: Gaussian | None

    def log_likelihood(self, theta: Floats) -> float:
        eta = self.offset + self.design @ theta
        return float(self.weights @ (self.y * eta - np.maximum(eta, 0.0) - np.log1p(np.exp(-np.abs(eta)))))

    def value(self, theta: Floats) -> float:
        """What is maximised."""
        if self.prior is None:
            return self.log_likelihood(theta)
        away = theta - self.prior.mean
        return self.log_likelihood(theta) - 0.5 * float(away @ self.prior.precision @ away)

    def slope(self, theta: Floats) -> tuple[Floats, Floats]:
        """(k,) derivative, and (k, k) information."""
        p = expit(self.offset + self.design @ theta)
        gradient = self.design.T @ (self.weights * (self.y - p))
        information = (self.design.T * (self.weights * p * (1.0 - p))) @ self.design
        if self.prior is not None:
            gradient = gradient - self.prior.precision @ (theta - self.prior.mean)
            information = information + self.prior.precision
        return gradient, information

    def walk(self, theta: Floats, value: float) -> Floats:
        """A Newton step; where it would lower the objective, half of it, and so on."""
        if not len(theta):
            return theta
        gradient, information = self.slope(theta)
        move = np.linalg.lstsq(information, gradient, rcond=None)[0]
        for _ in range(40):
            ahead: Floats = theta + move
            if self.value(ahead) >= value:
                return ahead
            move = move / 2.0
        return theta

    def told(self, theta: Floats, children: int, used: Floats | np.ndarray) -> Fit:
        p = expit(self.offset + self.design @ theta)
        scores = np.zeros((children, len(theta)))
        scores[used] = self.design * (self.weights * (self.y - p))[:, None]
        return Fit(theta, self.log_likelihood(theta), self.slope(theta)[1], scores)
