"""Update a model with children of elsewhere: choose the step, take it, and make the bundle that says so."""

from dataclasses import dataclass, replace
from datetime import date
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle
from riskmodel.errors import Finding
from training.advice import Advice, advise
from training.cohort import Cohort
from training.features import FEWEST_CARRIERS, Declared
from training.features.declare import carriers
from training.outcome import check_enough
from training.posterior import ColumnPriors
from training.protocol import Protocol
from training.updating.children import Children, children
from training.updating.closed_test import DRAWS, ClosedTest, Trial, closed_test
from training.updating.notes import note
from training.updating.prior import DISCOUNT
from training.updating.renew import renewed
from training.updating.simulate import simulator
from training.updating.steps import Step, step, step_from_prior, trial_of


class Method(Enum):
    """How the step is chosen: tested for, or the parent's beliefs moved as far as the children move them."""

    CLOSED_TEST = "closed_test"
    PRIOR = "prior"


@dataclass(frozen=True, slots=True)
class Updated:
    """Everything that an update did.

    `test` is None where nothing was tested (`--method prior`); `advice` says what these children could carry.
    """

    bundle: Bundle
    children: Children
    method: Method
    chosen: str
    test: ClosedTest | None
    step: Step
    advice: Advice
    warnings: tuple[Finding, ...]


def update(
    bundle: Bundle,
    protocol: Protocol,
    cohort: Cohort,
    *,
    on: date,
    method: Method = Method.CLOSED_TEST,
    discount: float = DISCOUNT,
    draws: int = DRAWS,
) -> Updated:
    """Update a model with these children.

    Parameters
    ----------
    protocol : the bundle's own, as `training.updating.protocol_of` reads it
    on : the day of the update, from which the review is counted
    discount : at least 1; multiplies the covariance of the parent's beliefs (`Method.PRIOR`)
    draws : of the parametric bootstrap, where the closed test needs one

    Raises
    ------
    OutcomeRefused
        With fewer than 5 known events or 5 known non-events, or too little follow-up.
    FitRefused
        When the step that is called for has no finite fit, or the bundle cannot become a prior: it found no signal, or
        has too few draws.
    """
    held = children(bundle, protocol, cohort)
    warnings = (*cohort.findings, *check_enough(held.outcome))
    learned = carriers(cohort.take(held.outcome.known), protocol, bundle.terms) >= FEWEST_CARRIERS
    advice = _advice(held, learned)
    test_rng, step_rng = np.random.default_rng([protocol.seed, 3]).spawn(2)
    if method is Method.PRIOR:
        test, chosen = None, f"the parent's beliefs as the prior, discounted by {discount:g}"
        taken = step_from_prior(held, learned, discount, step_rng)
    else:
        trial = _with_draws(trial_of(held, learned), held)
        test = closed_test(trial, refit=advice.refit, rng=test_rng, draws=draws)
        chosen, taken = test.chosen.value, step(held, trial, test.chosen, learned, step_rng)
    branch = None if test is None else test.chosen
    after = renewed(held, taken, branch=branch, learned=learned, on=on)
    noted = note(held, taken, method=method.value, chosen=chosen, test=test, on=on)
    after = replace(after, updates=(*bundle.updates, noted))
    return Updated(after, held, method, chosen, test, taken, advice, warnings)


def _advice(held: Children, learned: NDArray[np.bool_]) -> Advice:
    recipe = held.bundle.model.recipe
    priors = ColumnPriors.flat_means(np.zeros(len(learned), dtype=np.int8))
    declared = Declared(recipe, priors, learned, bool(recipe.holes(held.cohort.cases).any()))
    return advise(held.cohort, held.protocol, held.outcome, declared)


def _with_draws(trial: Trial, held: Children) -> Trial:
    """The trial with a way to draw outcomes, where weights may call for it."""
    if not trial.sample.weighted:
        return trial
    return replace(trial, simulate=simulator(held.cohort, held.protocol, held.outcome))
