"""Priors of the coefficients, and the posterior as a mixture of Gaussians over the scales of the priors."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats

SCALES = np.geomspace(0.05, 1.5, 6)
NUMBER, LEVEL = 0, 1


def shares(log_weight: Floats) -> Floats:
    """Weights in proportion to the exponential of (G,) logarithms, summing to 1."""
    weight = np.exp(log_weight - log_weight.max())
    told: Floats = weight / weight.sum()
    return told


def log_hyperprior(scales: Floats, hyper_sd: float) -> Floats:
    """(G,) log of what is held of (G, k) scales beforehand, up to a constant: half-normal, on a log-spaced grid."""
    weight: Floats = (np.log(scales) - 0.5 * (scales / hyper_sd) ** 2).sum(axis=1)
    return weight


@dataclass(frozen=True, slots=True)
class ColumnPriors:
    """Normal priors of C coefficients.

    `mean` (C,); `sd` (C,), NaN where the SD is the learned scale of the column's `block` (C,): 0 = numbers and
    spline columns, 1 = yes/no and level columns. `base_mean`, `base_sd`: prior of the base (log-odds with every
    column at its mean), flat by default. `hyper_sd`: the scales themselves are held to be half-normal with this SD.
    """

    mean: Floats
    sd: Floats
    block: NDArray[np.int8]
    base_mean: float = 0.0
    base_sd: float = np.inf
    hyper_sd: float = 1.0

    @classmethod
    def flat_means(cls, block: NDArray[np.int8]) -> "ColumnPriors":
        """Zero means, every SD learned."""
        return cls(np.zeros(len(block)), np.full(len(block), np.nan), block)

    def take(self, chosen: NDArray[np.bool_]) -> "ColumnPriors":
        """The priors of some columns."""
        return replace(self, mean=self.mean[chosen], sd=self.sd[chosen], block=self.block[chosen])

    def joined(self, count: int, sd: float) -> "ColumnPriors":
        """These priors, and `count` further columns with mean 0 and this SD."""
        return replace(
            self,
            mean=np.append(self.mean, np.zeros(count)),
            sd=np.append(self.sd, np.full(count, sd)),
            block=np.append(self.block, np.full(count, LEVEL, dtype=np.int8)),
        )

    def precision(self, scales: Floats) -> Floats:
        """(G, 1 + C) prior precisions, base first, for (G, 2) scales; an infinite scale is a flat prior."""
        sd = np.where(np.isnan(self.sd), scales[:, self.block], self.sd)
        base = np.full((len(scales), 1), self.base_sd)
        return np.hstack([base, sd]) ** -2.0

    def grid(self, scale: str | float) -> Floats:
        """(G, 2) scales: the grid of evidence, or one point; a scale that acts on no column stays at 1."""
        if scale == "flat":
            return np.full((1, 2), np.inf)
        if scale != "evidence":
            return np.full((1, 2), float(scale))
        scaled = np.isnan(self.sd)
        axes = [SCALES if np.any(scaled & (self.block == b)) else np.ones(1) for b in (NUMBER, LEVEL)]
        return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)


@dataclass(frozen=True, slots=True)
class Posterior:
    """A grid of Gaussian approximations, mixed by their evidence.

    `scales` (G, 2); `weights` (G,), sum 1; `modes` (G, 1 + C), base first; `hessians` (G, 1 + C, 1 + C) of the
    negative log-posterior; `left_out` (n,) log-odds of each row with that row (all its copies) left out.
    """

    scales: Floats
    weights: Floats
    modes: Floats
    hessians: Floats
    left_out: Floats
    steps: int

    @property
    def mean(self) -> Floats:
        """(1 + C,) mean over the grid, base first."""
        return self.weights @ self.modes

    @property
    def sd(self) -> Floats:
        """(1 + C,) standard deviation of the mixture, base first."""
        variance = np.diagonal(np.linalg.inv(self.hessians), axis1=1, axis2=2)
        return np.sqrt(self.weights @ (variance + self.modes**2) - self.mean**2)

    def unheard(self, hyper_sd: float) -> "Posterior":
        """The same grid, each point as likely as beforehand: for children who do not tell the columns from noise."""
        log_weight = log_hyperprior(self.scales, hyper_sd) if len(self.scales) > 1 else np.zeros(1)
        return replace(self, weights=shares(log_weight))

    def draws(self, count: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """(count, 1 + C) draws, base first, and the (count, 2) scales of the grid point each came from. `count` even.

        The normals come in opposite pairs that share a grid point, and grid points are allotted by strata, so that
        means are those of the posterior and intervals are steadier than with independent draws.
        """
        half = count // 2
        z = rng.standard_normal((half, self.modes.shape[1]))
        strata = (rng.permutation(half) + rng.random(half)) / half
        chosen = np.minimum(np.searchsorted(np.cumsum(self.weights), strata), len(self.weights) - 1)
        factors = np.linalg.cholesky(self.hessians)
        steps = np.linalg.solve(np.swapaxes(factors[chosen], 1, 2), z[:, :, None])[:, :, 0]
        drawn = np.concatenate([self.modes[chosen] + steps, self.modes[chosen] - steps])
        return drawn, np.tile(self.scales[chosen], (2, 1))
