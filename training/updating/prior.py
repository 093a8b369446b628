"""A parent's posterior as the prior of its update: mean and covariance from its draws, discounted.

What two hospitals do not share is not known to the parent: its covariance is multiplied by a declared discount.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle
from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.updating.levels import normal_draws
from training.updating.likelihood import Fit, Gaussian, Sample, fit

DISCOUNT = 2.0
NO_SIGNAL = (
    "a model becomes a prior only where its predictors told more of left-out children than the rate did; this one "
    "found no signal, and its draws are as wide as effects were held to be beforehand; accepted: --method closed_test, "
    "or a fit of these children under the model's own protocol"
)
# Independent pairs of draws for each coefficient below which their covariance says too little (own choice).
FEWEST_PAIRS = 2


@dataclass(frozen=True, slots=True)
class Inherited:
    """The parent's beliefs of (1 + C,) intercept and coefficients: `mean`, and `covariance` with the discount in it.

    `pairs`: how many independent draws the covariance was told from.
    """

    mean: Floats
    covariance: Floats
    pairs: int

    def of(self, learned: NDArray[np.bool_]) -> Gaussian:
        """The prior of some of them (1 + C,).

        The inverse of a covariance told from N draws of k numbers about a known mean is too large by N / (N - k - 1)
        on average (the mean of the inverse Wishart distribution; Mardia, Kent and Bibby 1979, section 3.8, from
        memory): the parent would be believed more than it believes itself.
        """
        inverse: Floats = np.linalg.inv(self.covariance[np.ix_(learned, learned)]).astype(np.float64)
        return Gaussian(self.mean[learned], inverse * ((self.pairs - int(learned.sum()) - 1) / self.pairs))


def inherited(bundle: Bundle, discount: float) -> Inherited:
    """What a bundle's draws say, its covariance times `discount` (at least 1).

    Raises
    ------
    FitRefused
        When the bundle found no signal, or there are too few draws to tell the covariance of so many coefficients.

    Notes
    -----
    Without a signal draws have the scales of their own prior (`training.candidates.draws`): right for an interval, and
    far too wide for a prior, under which a few children would be overfitted.
    """
    if not bundle.signal:
        raise FitRefused(NO_SIGNAL)
    pairs, size = len(bundle.draws) // 2, 1 + len(bundle.coefficients)
    if pairs < FEWEST_PAIRS * size:
        raise FitRefused(
            f"a model of {size} coefficients needs at least {int(2 * FEWEST_PAIRS * size)} draws to become a prior; "
            f"found {len(bundle.draws)}; accepted: --method closed_test"
        )
    mean = np.concatenate([[bundle.intercept], bundle.coefficients])
    away = bundle.draws - mean
    # Draws come in opposite pairs: the second of a pair tells nothing of the covariance that the first did not.
    return Inherited(mean, discount * (away.T @ away) / len(away), pairs)


@dataclass(frozen=True, slots=True)
class Posterior:
    """`coefficients` (1 + C,) intercept first, `draws` (K, 1 + C), and the fit of the learned ones behind them."""

    coefficients: Floats
    draws: Floats
    found: Fit


def posterior(
    bundle: Bundle,
    columns: Floats,
    sample: Sample,
    learned: NDArray[np.bool_],
    discount: float,
    rng: np.random.Generator,
) -> Posterior:
    """Update the parent's beliefs with the children's outcomes.

    Parameters
    ----------
    columns, learned
        (n, C), and (1 + C,) which coefficients may be learned from these children, the intercept first. The others
        take part at the parent's mean and stay there; their draws are the parent's, spread by the discount.
    """
    held = inherited(bundle, discount)
    design = np.hstack([np.ones((len(columns), 1)), columns])
    found = fit(design[:, learned], sample, design[:, ~learned] @ held.mean[~learned], held.of(learned))
    coefficients = held.mean.copy()
    coefficients[learned] = found.coefficients
    draws = held.mean + np.sqrt(discount) * (bundle.draws - held.mean)
    draws[:, learned] = normal_draws(found.coefficients, found.covariance, len(draws), rng)
    return Posterior(coefficients, draws, found)
