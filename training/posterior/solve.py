"""Finding the posterior: Newton's method at all grid points at once, evidence, leave-one-out.

The products of column pairs are made once, so that each Newton step of all grid points is one matrix product.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.posterior.model import ColumnPriors, Posterior, log_hyperprior, shares

MAX_STEPS = 60
# A squared Newton decrement below this leaves an error of its square: 1e-9 posterior SDs after one more step.
TOLERANCE = 1e-9
# A standard error (log-odds, for one SD of the column) that only separated events produce.
WIDEST_ERROR = 50.0


def posterior(
    columns: Floats,
    y: Floats,
    weights: Floats,
    priors: ColumnPriors,
    *,
    scale: str | float = "evidence",
    offset: Floats | None = None,
    start: Floats | None = None,
) -> Posterior:
    """Fit.

    Parameters
    ----------
    columns
        (n, C) columns, centred at their means: the intercept is then the base.
    y
        (n,) 0 or 1.
    weights
        (n,) likelihood weight of each row: kappa * copies * censoring weight; rows of weight 0 take no part, and
        their `left_out` is their plain log-odds.
    scale
        "evidence", "flat", or the prior SD itself.
    offset
        (n,) fixed part of the log-odds (columns whose coefficients are not learned).
    start
        (G, 1 + C) modes to start from.

    Raises
    ------
    FitRefused
        When the likelihood has no maximum (separation under a flat prior).

    Notes
    -----
    Weight of a grid point: exp of log-likelihood at the mode - half the penalty + half log det P - half log det H
    (Laplace), times half-normal hyperpriors of the scales, times the scales themselves since the grid is even in
    their logarithm. Leave-one-out: `without_itself`.
    """
    fixed = np.zeros(len(columns)) if offset is None else offset
    used = weights > 0.0
    problem = _Problem.of(columns[used], y[used], weights[used], priors, scale, fixed[used])
    found = _mix(problem, *_newton(problem, start))
    left_out = found.mean[0] + columns @ found.mean[1:] + fixed
    left_out[used] = found.left_out
    return replace(found, left_out=left_out)


@dataclass(frozen=True, slots=True)
class _Problem:
    """Arrays of one fit; `pairs` (n, k) holds the products of column pairs, `unpack` puts them back in a square."""

    design: Floats
    y: Floats
    weights: Floats
    offset: Floats
    mean: Floats
    scales: Floats
    precision: Floats
    hyper_sd: float
    pairs: Floats
    unpack: NDArray[np.intp]

    @classmethod
    def of(
        cls, columns: Floats, y: Floats, weights: Floats, priors: ColumnPriors, scale: str | float, offset: Floats
    ) -> "_Problem":
        design = np.column_stack([np.ones(len(columns)), columns])
        upper, lower = np.triu_indices(design.shape[1])
        unpack = np.empty((design.shape[1], design.shape[1]), dtype=np.intp)
        unpack[upper, lower] = unpack[lower, upper] = np.arange(len(upper))
        scales = priors.grid(scale)
        return cls(
            design=design,
            y=y,
            weights=weights,
            offset=offset,
            mean=np.concatenate([[priors.base_mean], priors.mean]),
            scales=scales,
            precision=priors.precision(scales),
            hyper_sd=priors.hyper_sd,
            pairs=design[:, upper] * design[:, lower],
            unpack=unpack,
        )

    def start(self) -> Floats:
        """(G, 1 + C) the rate, and the prior means."""
        rate = (float(self.weights @ self.y) + 0.5) / (float(self.weights.sum()) + 1.0)
        begin = self.mean.copy()
        begin[0] = np.log(rate / (1.0 - rate))
        return np.tile(begin, (len(self.scales), 1))

    def at(self, modes: Floats) -> "_Place":
        """Everything that a step needs to know at (G, 1 + C) modes."""
        eta = modes @ self.design.T + self.offset
        # exp(-|eta|) gives both the probability and the log-likelihood, without overflow.
        small = np.exp(-np.abs(eta))
        p = np.where(eta > 0.0, 1.0, small) / (1.0 + small)
        likelihood = (self.y * eta - np.maximum(eta, 0.0) - np.log(1.0 + small)) @ self.weights
        return _Place(modes, eta, p, likelihood - self.penalty(modes))

    def penalty(self, modes: Floats) -> Floats:
        """(G,) half the quadratic form of the priors."""
        half: Floats = 0.5 * (self.precision * (modes - self.mean) ** 2).sum(axis=1)
        return half

    def hessian(self, curvature: Floats) -> Floats:
        """(G, 1 + C, 1 + C) from (G, n) curvature w p (1 - p)."""
        square = (curvature @ self.pairs)[:, self.unpack]
        diagonal = np.arange(square.shape[1])
        square[:, diagonal, diagonal] += self.precision
        return square


@dataclass(frozen=True, slots=True)
class _Place:
    """Modes (G, 1 + C), their log-odds and probabilities (G, n), and the log-posterior (G,)."""

    modes: Floats
    eta: Floats
    p: Floats
    value: Floats


def _newton(problem: _Problem, start: Floats | None) -> tuple[_Place, int]:
    place = problem.at(problem.start() if start is None else start)
    for step in range(1, MAX_STEPS + 1):
        slope = (problem.weights * (problem.y - place.p)) @ problem.design
        slope -= problem.precision * (place.modes - problem.mean)
        move = _solve(problem.hessian(problem.weights * place.p * (1.0 - place.p)), slope)
        if np.max((move * slope).sum(axis=1)) < TOLERANCE * max(1.0, float(np.abs(place.value).max())):
            return problem.at(place.modes + move), step
        place = _walk(problem, place, move)
    raise FitRefused(_SEPARATED)


_SEPARATED = (
    "the fit must have finite coefficients, but the events are separated from the rest by the predictors: "
    'use scale = "evidence", fewer predictors, or more children'
)


def _solve(square: Floats, slope: Floats) -> Floats:
    try:
        move: Floats = np.linalg.solve(square, slope[:, :, None])[:, :, 0].astype(np.float64)
    except np.linalg.LinAlgError:
        raise FitRefused(_SEPARATED) from None
    return move


def _walk(problem: _Problem, place: _Place, move: Floats) -> _Place:
    """A Newton step; where it would lower the objective, half of it, and so on."""
    length = np.ones((len(move), 1))
    for _ in range(30):
        ahead = problem.at(place.modes + length * move)
        fell = ~(ahead.value >= place.value - 1e-12 * np.abs(place.value))
        if not fell.any():
            return ahead
        length[fell] *= 0.5
    raise FitRefused(_SEPARATED)


def _mix(problem: _Problem, place: _Place, steps: int) -> Posterior:
    curvature = problem.weights * place.p * (1.0 - place.p)
    hessians = problem.hessian(curvature)
    _refuse_separation(problem, hessians)
    weights = evidence(problem.scales, problem.precision, place.value, hessians, hyper_sd=problem.hyper_sd)
    influence = _influence(problem, hessians)
    left = without_itself(place.eta, place.p, influence, problem.y, problem.weights)
    return Posterior(problem.scales, weights, place.modes, hessians, weights @ left, steps)


def _refuse_separation(problem: _Problem, hessians: Floats) -> None:
    """Under a flat prior Newton's steps die out on the way to infinity too: the standard errors then tell."""
    if (problem.precision[:, 1:] > 0.0).all():
        return
    errors = np.sqrt(np.diagonal(np.linalg.inv(hessians), axis1=1, axis2=2))
    if not (errors[:, 1:] * problem.design[:, 1:].std(axis=0) < WIDEST_ERROR).all():
        raise FitRefused(_SEPARATED)


def evidence(scales: Floats, precision: Floats, value: Floats, hessians: Floats, *, hyper_sd: float = 1.0) -> Floats:
    """(G,) weight of each grid point: Laplace evidence times the hyperpriors of the scales, summing to 1.

    Parameters
    ----------
    scales, precision, value, hessians
        (G, 2); (G, 1 + C) of the priors; (G,) log-posterior at the modes; (G, 1 + C, 1 + C) there.
    hyper_sd
        SD of the half-normal that the scales are held to follow.
    """
    if len(value) == 1:
        return np.ones(1)
    penalised = np.isfinite(precision[0]) & (precision[0] > 0.0)
    log_p = np.log(precision[:, penalised]).sum(axis=1)
    log_h = np.linalg.slogdet(hessians)[1]
    return shares(value + 0.5 * (log_p - log_h) + log_hyperprior(scales, hyper_sd))


def without_itself(log_odds: Floats, p: Floats, influence: Floats, y: Floats, weights: Floats) -> Floats:
    """Log-odds of each child with that child left out, approximately: one Newton step from the fit with it.

    Parameters
    ----------
    log_odds, p, influence
        (..., n) of the fit, its probabilities, and x' inv(H) x of each child's columns x.
    y, weights
        (n,) outcome 0/1 (finite where the weight is 0 too), and likelihood weight.

    Notes
    -----
    eta - h w (y - p) / (1 - h W), W = w p (1 - p).
    """
    pull = influence * weights * (y - p)
    left: Floats = log_odds - pull / np.maximum(1.0 - influence * (weights * p * (1.0 - p)), 1e-6)
    return left


def _influence(problem: _Problem, hessians: Floats) -> Floats:
    """(G, n) x' inv(H) x."""
    inverse = np.linalg.inv(hessians)
    upper, lower = np.triu_indices(inverse.shape[1])
    twice = 2.0 - (upper == lower)
    influence: Floats = (inverse[:, upper, lower] * twice) @ problem.pairs.T
    return influence
