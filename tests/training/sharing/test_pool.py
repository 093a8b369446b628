"""A model fitted from sums is the model of all rows together."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.special import expit

from riskmodel.bundle import Use
from riskmodel.cases.table import Floats
from riskmodel.missing import coordinates
from tests.training.builders import defined_in_vain
from tests.training.sharing.centres import NAMES, PLAIN, SECRETS, centres, protocol, settled, stacked
from tests.training.updating import worlds
from training.candidates import Fitted, SumOfTerms
from training.features import Design, learn
from training.meta import random_effects
from training.metrics import measures
from training.moments import PRIOR_CHILDREN
from training.outcome import Censoring, at_horizon, rate
from training.posterior import ColumnPriors
from training.sharing import PooledFit, Stage, add_up, count, freeze, judge, rehearse, step
from training.sharing.agreement import common, declared
from training.sharing.finish import fitted_design
from training.sharing.model import FitState
from training.sharing.pool import MOST_ROUNDS


@cache
def whole(without: str | None = None) -> tuple[Fitted, Design]:
    """The fit of the rows themselves: the same merged levels, each centre's own weights, frozen moments."""
    cohort, asked = stacked(without)
    design = learn(cohort, asked, declared=declared(protocol(), common(protocol()), settled().frozen))
    outcome = at_horizon(cohort, asked)
    assert outcome.censoring is Censoring.BY_CENTRE
    model = SumOfTerms("penalised", rank=2, uses_terms=True, scale=asked.fit.scale)
    rng = np.random.default_rng(0)
    return model.fit(design, cohort, outcome, counts=np.ones(len(cohort)), rng=rng), design


@cache
def pooled() -> PooledFit:
    return rehearse(centres(), protocol())


def state(without: str | None) -> FitState:
    return next(fit for fit in settled().fits if fit.without == without)


def test_a_pooled_model_defines_what_it_holds() -> None:
    told = pooled().bundle.performance
    assert defined_in_vain(told) == set()
    assert "mean over centres" in told["definitions"]["low"]


def test_coefficients_from_sums_are_those_of_all_rows() -> None:
    """With a prior of the base too: the log-odds with every column at its mean over all, which no centre knows."""
    assert np.isfinite(whole()[1].priors.base_sd)
    rows, design = whole()
    sums, frame = fitted_design(protocol(), common(protocol()), settled())
    assert rows.coefficients is not None
    assert sums.coefficients == pytest.approx(rows.coefficients, abs=1e-8)
    assert sums.intercept == pytest.approx(rows.intercept, abs=1e-8)
    assert frame.column_means == pytest.approx(design.column_means, abs=1e-12)


def test_the_whole_posterior_from_sums_is_that_of_all_rows() -> None:
    rows, _ = whole()
    sums, _ = fitted_design(protocol(), common(protocol()), settled())
    assert rows.posterior is not None
    assert sums.posterior is not None
    assert (sums.posterior.scales == rows.posterior.scales).all()
    for name in ("weights", "modes", "hessians"):
        found, expected = getattr(sums.posterior, name), getattr(rows.posterior, name)
        assert found == pytest.approx(expected, rel=1e-8, abs=1e-8), name


@pytest.mark.parametrize("without", NAMES)
def test_leaving_a_centre_out_is_fitting_the_rows_of_the_others(without: str) -> None:
    rows, _ = whole(without)
    held = state(without)
    assert rows.coefficients is not None
    used = np.array(settled().frozen.learned)
    mean = held.weights @ held.settled
    assert mean[1:] == pytest.approx(rows.coefficients[used], abs=1e-8)
    assert mean[0] == pytest.approx(rows.intercept, abs=1e-8)


def test_the_signal_is_that_of_all_rows() -> None:
    rows, _ = whole()
    judged = [judge(held, protocol(), settled(), PLAIN[name]) for name, held in centres().items()]
    assert sum(part.gain.values[0] for part in judged) == pytest.approx(rows.gain, abs=1e-7)


def test_masks_change_nothing_and_hide_each_centres_sums() -> None:
    made = rehearse(centres(), protocol(), secrets=SECRETS)
    plain = pooled().bundle
    assert made.masked
    assert made.bundle.coefficients == pytest.approx(plain.coefficients, abs=1e-8)
    assert made.bundle.intercept == pytest.approx(plain.intercept, abs=1e-8)
    assert made.bundle.cohort_rate == pytest.approx(plain.cohort_rate, abs=1e-10)
    assert made.bundle.signal == plain.signal
    assert "itself included" in made.bundle.performance["definitions"]["apparent"]


def test_the_frozen_moments_are_those_of_the_complete_children() -> None:
    frozen = settled().frozen
    cohort, _ = stacked()
    held = coordinates(cohort.cases, frozen.blocks)
    spoken = np.column_stack([cohort.cases[name].states >= 2 for name in (block.variable for block in frozen.blocks)])
    numbers = [i for i, block in enumerate(frozen.blocks) if not block.names and block.width == 1]
    at = np.cumsum([0, *(block.width for block in frozen.blocks)])
    for i in numbers:
        column = held[:, at[i]]
        column[spoken[:, i] & np.isnan(column)] = 0.0
    complete = held[~np.isnan(held).any(axis=1)]
    assert frozen.mean == pytest.approx(complete.mean(axis=0), abs=1e-12)
    scatter = (complete - complete.mean(axis=0)).T @ (complete - complete.mean(axis=0))
    alone = np.diag(np.maximum(complete.var(axis=0), 1e-3))
    expected = (scatter + PRIOR_CHILDREN * alone) / (len(complete) + PRIOR_CHILDREN)
    assert frozen.covariance == pytest.approx(expected, abs=1e-12)


def test_a_level_that_is_rare_anywhere_is_learned_nowhere() -> None:
    counts = [count(held, protocol(), PLAIN[name]) for name, held in centres().items()]
    carried = np.array([part.carried for part in counts])
    assert (np.array(settled().frozen.learned) == carried.all(axis=0)).all()
    assert carried.any(axis=0).sum() > carried.all(axis=0).sum()
    made = pooled().bundle
    unlearned = ~carried.all(axis=0)
    priors: ColumnPriors = common(protocol()).priors
    assert made.coefficients[unlearned] == pytest.approx(priors.mean[unlearned])
    assert (made.column_means[unlearned] == 0).all()


def test_the_validation_leaves_each_centre_out() -> None:
    """Its measures are those of the model of the others, found here from the rows."""
    cohort, _ = stacked()
    for part in pooled().judgements:
        held, rows = centres()[part.sender.centre], whole(part.sender.centre)[0]
        recipe = declared(protocol(), common(protocol()), settled().frozen).recipe
        assert rows.intercept is not None
        assert rows.coefficients is not None
        log_odds: Floats = rows.intercept + recipe.expected(held.cases) @ rows.coefficients
        own = at_horizon(held, protocol())
        expected = measures(own.label, expit(log_odds), own.weight, counts=held.course.known.astype(int), smooth=False)
        found = {name: np.array(each.value) for name, each in part.measures.items()}
        assert expit(found["logit_c"]) == pytest.approx(expected.c.value, abs=1e-6)
        assert np.exp(found["log_observed_expected"]) == pytest.approx(expected.observed_expected.value, abs=1e-6)
        assert part.measures["slope"].value == pytest.approx(expected.slope.value, abs=1e-5)
        assert part.children % 5 == part.events % 5 == 0
    assert len(cohort) > 600


def test_measures_are_pooled_by_random_effects() -> None:
    made = pooled()
    pairs = [(part.measures["slope"].value, part.measures["slope"].standard_error) for part in made.judgements]
    expected = random_effects(*zip(*pairs, strict=True))
    told = made.bundle.performance
    assert told["measures"]["slope"]["apparent"] == pytest.approx(expected.mean)
    assert told["new_centre"]["slope"] == pytest.approx([expected.prediction_low, expected.prediction_high])
    assert told["measures"]["c"]["low"] < told["measures"]["c"]["apparent"] < told["measures"]["c"]["high"]


def test_the_bundle_is_one_like_any_other() -> None:
    made = worlds.written(pooled().bundle)
    assert made.use is Use.STUDY
    assert made.draws.shape == (400, 1 + len(made.coefficients))
    assert made.cohort["centres"] == 3
    assert made.cohort["children"] == "at least 705"
    cohort, _ = stacked()
    assert made.model.probability(made.model.recipe.expected(cohort.cases)).mean() == pytest.approx(
        made.cohort_rate, abs=0.02
    )
    assert made.cohort_rate == pytest.approx(rate(cohort.course, protocol().outcome), abs=0.01)
    for support in made.support:
        assert all(cell.at_least % 5 == 0 for cell in support.cells)


def test_settling_takes_few_rounds_and_no_more_than_are_allowed() -> None:
    assert settled().number <= 9 < MOST_ROUNDS
    assert settled().stage is Stage.JUDGE


def test_a_step_that_went_too_far_is_halved() -> None:
    asked = freeze(protocol(), [count(held, protocol(), PLAIN[name]) for name, held in centres().items()])
    second = step(protocol(), asked, [add_up(held, protocol(), asked, PLAIN[name]) for name, held in centres().items()])
    far = replace(second, fits=tuple(replace(fit, modes=fit.modes + 30.0) for fit in second.fits))
    back = step(protocol(), far, [add_up(held, protocol(), far, PLAIN[name]) for name, held in centres().items()])
    for before, after in zip(far.fits, back.fits, strict=True):
        assert after.modes == pytest.approx(0.5 * (before.modes + before.settled))
        assert (after.settled == before.settled).all()


def test_the_rate_alone_can_be_pooled_too() -> None:
    asked = replace(protocol(), fit=replace(protocol().fit, choose="rate"))
    made = rehearse(centres(), asked).bundle
    cohort, by_centre = stacked()
    design, outcome = whole()[1], at_horizon(cohort, by_centre)
    model = SumOfTerms("rate", rank=0, uses_terms=False)
    rows = model.fit(design, cohort, outcome, counts=np.ones(len(cohort)), rng=np.random.default_rng(0))
    assert not made.signal
    assert made.intercept == pytest.approx(rows.intercept, abs=1e-8)
    assert not made.coefficients.any()


def test_moments_of_a_model_may_be_used_in_place_of_the_childrens() -> None:
    counts = [count(held, protocol(), PLAIN[name]) for name, held in centres().items()]
    frozen = freeze(protocol(), counts, moments=worlds.model()).frozen
    assert frozen.blocks == worlds.model().moments.blocks
    assert (frozen.mean == worlds.model().moments.mean).all()
    assert frozen.learned == settled().frozen.learned
