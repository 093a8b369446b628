"""The shippable candidates: the rate, and the penalised sum of terms."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.candidates.base import FitLog, Fitted
from training.cohort import Cohort
from training.features import Design
from training.metrics import gain_over_rate
from training.outcome import Outcome, kish
from training.posterior import Posterior, posterior


@dataclass(frozen=True, slots=True)
class SumOfTerms:
    """Logistic regression with Gaussian priors on the protocol's terms, or with none of them (the rate).

    `start` (G, 1 + C learned): modes of an earlier fit to start from.
    """

    name: str
    rank: int
    uses_terms: bool
    scale: str | float = "evidence"
    start: Floats | None = None
    most_replays: int | None = None

    def lacking(self, outcome: Outcome) -> str | None:
        """Nothing: with priors, or with the rate alone, there is always a fit."""
        return None

    def warmed(self, fitted: Fitted) -> "SumOfTerms":
        """The same, starting from the modes of an earlier fit."""
        return self if fitted.posterior is None else replace(self, start=fitted.posterior.modes)

    def fit(
        self, design: Design, cohort: Cohort, outcome: Outcome, *, counts: Floats, rng: np.random.Generator
    ) -> Fitted:
        """Fit to the sample.

        Raises
        ------
        FitRefused
            With a flat scale, when events and the rest are separated.
        """
        learned = design.learned & self.uses_terms
        weights = likelihood_weights(outcome.weight, counts, self.scale)
        centred = design.columns - design.column_means
        fixed = np.where(learned, 0.0, design.priors.mean) * self.uses_terms
        centres = design.centres[:, : design.centres.shape[1] * self.uses_terms]
        found = posterior(
            np.hstack([centred[:, learned], centres]),
            outcome.label,
            weights,
            design.priors.take(learned).joined(centres.shape[1], design.centre_sd),
            scale=self.scale,
            offset=centred @ fixed,
            start=self.start,
        )
        own = 1 + np.count_nonzero(learned)
        coefficients = _spread(found.mean[1:own], learned, fixed)
        # The sum knows no centre, so what it says of a child left out must not either.
        left_out = expit(found.left_out - centres @ found.mean[own:])
        intercept = float(found.mean[0] - design.column_means @ coefficients)
        return Fitted(
            name=self.name,
            probability=expit(intercept + design.columns @ coefficients),
            log=FitLog(found.steps, _mean_scales(found)),
            intercept=intercept,
            coefficients=coefficients,
            posterior=found,
            left_out=left_out,
            # Whether a signal was heard is asked in effective children, however the scales are set.
            gain=gain_over_rate(outcome.label, left_out, likelihood_weights(outcome.weight, counts, "evidence")),
        )


def likelihood_weights(weights: Floats, counts: Floats, scale: str | float) -> Floats:
    """(n,) copies * censoring weight, times Kish's factor where scales are learned from the evidence.

    The factor makes the weights sum to the effective number of children, so that the evidence does not take
    censoring weights for further children.
    """
    factor = kish(weights, counts) if scale == "evidence" else 1.0
    return factor * counts * weights


def draws(design: Design, fitted: Fitted, count: int, rng: np.random.Generator, *, signal: bool = True) -> Floats:
    """(count, 1 + C) posterior draws of intercept and coefficients, for a child of a centre that is not known.

    Without a signal the scales are drawn as they are held to be beforehand: a cohort that cannot tell the columns from
    noise finds small scales whether the effects are small or merely not heard, and intervals would be too narrow in
    the second case (docs/recovery.md).

    Columns that are not learned are drawn from their prior, and where centres may differ so is the centre's effect. A
    flat scale is no prior to draw from: the scales' own hyperprior gives the SD then.

    Raises
    ------
    TypeError
        When the fit is not a sum of terms with a posterior.
    """
    if fitted.posterior is None or fitted.coefficients is None:
        raise TypeError(f"{fitted.name} is not a sum of terms: it has no draws")
    held = fitted.posterior if signal else fitted.posterior.unheard(design.priors.hyper_sd)
    found, scales = held.draws(count, rng)
    learned = design.learned & (found.shape[1] > 1)
    priors = design.priors
    drawable = np.where(np.isfinite(scales), scales, priors.hyper_sd)
    sd = np.where(np.isnan(priors.sd), drawable[:, priors.block], priors.sd)
    prior_draws = priors.mean + sd * rng.standard_normal((count, len(learned)))
    out = np.empty((count, 1 + len(learned)))
    out[:, 1:] = prior_draws * (found.shape[1] > 1)
    out[:, 1:][:, learned] = found[:, 1 : 1 + np.count_nonzero(learned)]
    base = found[:, 0] + design.centre_sd * rng.standard_normal(count)
    out[:, 0] = base - out[:, 1:] @ design.column_means
    return out


def _spread(values: Floats, learned: NDArray[np.bool_], fixed: Floats) -> Floats:
    out = fixed.copy()
    out[learned] = values
    return out


def _mean_scales(found: Posterior) -> tuple[float, float]:
    first, second = found.weights @ found.scales
    return float(first), float(second)
