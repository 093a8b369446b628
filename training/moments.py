"""Learning the moments of what may be missing: EM for a Gaussian, rows grouped by what they lack.

The outcome takes no part. Each E-step handles all children that lack the same coordinates at once.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats

# Weight of the prior on the diagonal, in children: keeps the covariance of small cohorts invertible.
PRIOR_CHILDREN = 4.0
COLD_STEPS = 60
WARM_STEPS = 3


@dataclass(frozen=True, slots=True)
class Gaussian:
    """Mean (d,) and covariance (d, d)."""

    mean: Floats
    covariance: Floats


def learn(
    coordinates: Floats, counts: Floats, *, start: Gaussian | None = None, steps: int | None = None, tol: float = 1e-8
) -> Gaussian:
    """Mean and covariance of coordinates with holes (NaN), children counted `counts` times.

    Parameters
    ----------
    coordinates
        (n, d), NaN where unknown.
    counts
        (n,) copies of each child, not negative.
    start
        Where to start; without it, from the means and variances of what is known.
    steps
        Most EM steps; by default 3 from a given start (a replay), else 60.

    Returns
    -------
    Gaussian
        The penalised maximum-likelihood estimate: each variance has `PRIOR_CHILDREN` further children of the
        variance that is known from single coordinates.

    Notes
    -----
    Dempster, Laird, Rubin (1977), with the pattern grouping of Little and Rubin, Statistical Analysis with Missing
    Data, section 11.2.
    """
    alone = _alone(coordinates, counts)
    patterns = list(_patterns(coordinates, counts))
    current = start if start is not None else alone
    for _ in range(steps if steps is not None else (COLD_STEPS if start is None else WARM_STEPS)):
        before = current
        current = _step(patterns, current, alone, float(counts.sum()))
        if np.abs(current.covariance - before.covariance).max(initial=0.0) < tol:
            break
    return current


@dataclass(frozen=True, slots=True)
class _Pattern:
    """Children that know the same coordinates: their known values (m, k), counts (m,), which are known."""

    values: Floats
    counts: Floats
    known: NDArray[np.intp]
    unknown: NDArray[np.intp]


def _patterns(coordinates: Floats, counts: Floats) -> Iterator[_Pattern]:
    used = counts > 0
    values, weights = coordinates[used], counts[used]
    masks, group = np.unique(np.isnan(values), axis=0, return_inverse=True)
    for g, mask in enumerate(masks):
        rows = group.ravel() == g
        known = np.flatnonzero(~mask)
        yield _Pattern(values[np.ix_(rows, known)], weights[rows], known, np.flatnonzero(mask))


def _alone(coordinates: Floats, counts: Floats) -> Gaussian:
    """Each coordinate by itself: mean and variance over the children who know it; 0 and 1 where nobody does."""
    known = ~np.isnan(coordinates)
    weight = known * counts[:, None]
    total = np.maximum(weight.sum(axis=0), 1e-12)
    values = np.where(known, coordinates, 0.0)
    mean = (weight * values).sum(axis=0) / total
    variance = (weight * (values - mean) ** 2).sum(axis=0) / total
    # A coordinate that is constant here still needs a positive variance to be conditioned on.
    return Gaussian(mean, np.diag(np.where(variance > 1e-9, variance, 1e-3)))


def _step(patterns: list[_Pattern], current: Gaussian, alone: Gaussian, children: float) -> Gaussian:
    d = len(current.mean)
    first, second = np.zeros(d), np.zeros((d, d))
    for pattern in patterns:
        filled, spread = _expected(pattern, current)
        first += pattern.counts @ filled
        # About the current mean: differences of large squares would lose digits.
        centred = filled - current.mean
        second += (centred * pattern.counts[:, None]).T @ centred
        second[np.ix_(pattern.unknown, pattern.unknown)] += pattern.counts.sum() * spread
    mean = first / children
    shift = mean - current.mean
    scatter = second - children * np.outer(shift, shift)
    covariance = (scatter + PRIOR_CHILDREN * alone.covariance) / (children + PRIOR_CHILDREN)
    return Gaussian(mean, covariance)


def _expected(pattern: _Pattern, current: Gaussian) -> tuple[Floats, Floats]:
    """The pattern's children with their unknown coordinates at the conditional mean, and the spread left over."""
    known, unknown = pattern.known, pattern.unknown
    filled = np.empty((len(pattern.values), len(current.mean)))
    filled[:, known] = pattern.values
    if not len(unknown):
        return filled, np.empty((0, 0))
    cross = current.covariance[np.ix_(unknown, known)]
    slope = np.linalg.solve(current.covariance[np.ix_(known, known)], cross.T).T
    filled[:, unknown] = current.mean[unknown] + (pattern.values - current.mean[known]) @ slope.T
    return filled, current.covariance[np.ix_(unknown, unknown)] - slope @ cross.T
