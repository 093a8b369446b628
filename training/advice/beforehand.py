"""What the priors alone imply: risks and c-statistic of the cohort's children under coefficients nobody has fitted."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.advice.model import Beforehand, Spread
from training.cohort import Cohort
from training.features import Declared, learn
from training.posterior import SCALES, ColumnPriors, log_hyperprior, shares
from training.priors import beliefs
from training.protocol import Protocol

DRAWS = 400
TOO_SURE_C = 0.78


def beforehand(
    cohort: Cohort, protocol: Protocol, declared: Declared, rate: float, rng: np.random.Generator
) -> Beforehand:
    """Simulate risks of the cohort's children from the priors; their outcomes take no part.

    Parameters
    ----------
    rate
        Stands in for the base where nothing is held of it, in (0, 1).
    """
    design = learn(cohort, protocol, declared=declared)
    centred = design.columns - design.column_means
    priors, held = declared.priors, beliefs(protocol, cohort.dictionary, declared.recipe.terms)
    from_cohort = not np.isfinite(priors.base_sd)
    base = float(np.log(rate / (1.0 - rate))) if from_cohort else priors.base_mean
    spread_of_base = 0.0 if from_cohort else priors.base_sd
    z = rng.standard_normal((DRAWS, 1 + len(priors.mean)))
    own_sd = np.array([np.nan if belief is None else belief.sd for belief in held])
    learned_sd = _scales(priors.hyper_sd, rng)[:, priors.block]

    def spread(sd: Floats) -> Spread:
        coefficients = priors.mean + sd * z[:, 1:]
        return _spread(expit(base + spread_of_base * z[:, :1] + coefficients @ centred.T))

    return Beforehand(
        means=_spread(expit(base + priors.mean @ centred.T)[None]),
        held=spread(np.where(np.isnan(own_sd), learned_sd, own_sd)),
        used=spread(_used_sd(priors, protocol.fit.scale, learned_sd)),
        base_from_cohort=from_cohort,
    )


def _scales(hyper_sd: float, rng: np.random.Generator) -> Floats:
    """(DRAWS, 2) scales from their own prior: the points of the fit's grid, as likely as the fit holds them."""
    return rng.choice(SCALES, size=(DRAWS, 2), p=shares(log_hyperprior(SCALES[:, None], hyper_sd)))


def _used_sd(priors: ColumnPriors, scale: str | float, learned_sd: Floats) -> Floats:
    own = learned_sd if isinstance(scale, str) else np.full_like(learned_sd, scale)
    return np.where(np.isnan(priors.sd), own, priors.sd)


def _spread(risks: Floats) -> Spread:
    """Of (K, n) risks."""
    c_low, c_middle, c_high = np.quantile(expected_c(risks), (0.05, 0.5, 0.95))
    low, high = np.quantile(risks, (0.025, 0.975))
    return Spread(float(c_middle), float(c_low), float(c_high), float(low), float(high), float(risks.mean()))


def expected_c(risks: Floats) -> Floats:
    """(K,) c-statistics of (K, n) risks in (0, 1) that are true: each child a case with weight p, none with 1 - p.

    Model-based concordance (van Klaveren, Gonen, Steyerberg & Vergouwe, Statistics in Medicine 2016;35:4136). Equal
    risks count half without more ado: whichever of two comes first, the pair adds p (1 - p).
    """
    case = np.sort(risks, axis=1)
    other = 1.0 - case
    below = np.cumsum(other, axis=1) - 0.5 * other
    concordant: Floats = (case * below).sum(axis=1) / (case.sum(axis=1) * other.sum(axis=1))
    return concordant
