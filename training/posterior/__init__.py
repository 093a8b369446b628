"""The posterior of a logistic model with Gaussian priors whose two scales are learned by evidence.

Everything that is shipped comes from here: coefficients (mean over the grid of scales of the modes), draws,
approximate leave-one-out predictors.
"""

from training.posterior.model import LEVEL, NUMBER, SCALES, ColumnPriors, Posterior, log_hyperprior, shares
from training.posterior.solve import WIDEST_ERROR, evidence, posterior, without_itself

__all__ = [
    "LEVEL",
    "NUMBER",
    "SCALES",
    "WIDEST_ERROR",
    "ColumnPriors",
    "Posterior",
    "evidence",
    "log_hyperprior",
    "posterior",
    "shares",
    "without_itself",
]
