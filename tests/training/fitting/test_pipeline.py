"""From cohort to bundle: what the protocol's options do to the model that leaves."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy.special import logit, xlogy
from sklearn.linear_model import LogisticRegression

from riskmodel.cases.casefile import read_case_file
from riskmodel.errors import OutcomeRefused
from riskmodel.model import expit
from riskmodel.scoring import Scorer
from tests import demonstration
from tests.training.builders import defined_in_vain
from training.candidates import SumOfTerms, draws
from training.features import learn
from training.fitting import fit
from training.fitting.performance import leading, slope_left_out
from training.outcome import at_horizon, kish


def test_the_seed_decides_everything() -> None:
    again = fit(demonstration.cohort(), demonstration.protocol(), times=20).bundle
    assert np.array_equal(again.draws, demonstration.bundle().draws)
    other = replace(demonstration.protocol(), seed=2)
    assert not np.array_equal(fit(demonstration.cohort(), other, times=2).bundle.draws, again.draws)


def test_more_replays_move_no_coefficient() -> None:
    more = fit(demonstration.cohort(), demonstration.protocol(), times=22).bundle
    assert np.array_equal(more.coefficients, demonstration.bundle().coefficients)
    assert np.array_equal(more.draws, demonstration.bundle().draws)


def test_without_a_signal_the_scales_are_drawn_from_their_own_prior() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    design, outcome = learn(cohort, protocol), at_horizon(cohort, protocol)
    held = SumOfTerms("penalised", rank=2, uses_terms=True).fit(
        design, cohort, outcome, counts=np.ones(len(cohort)), rng=np.random.default_rng(1)
    )
    heard, unheard = (draws(design, held, 2_000, np.random.default_rng(1), signal=signal) for signal in (True, False))
    spread = [(drawn[:, 0] + drawn[:, 1:] @ design.columns[0]).std() for drawn in (heard, unheard)]
    assert spread[1] > 1.1 * spread[0]


def test_the_correction_that_leads_goes_by_events_for_each_column() -> None:
    replays = demonstration.trained().replays
    assert leading(replays, events=49, columns=10) == "point632plus"
    assert leading(replays, events=50, columns=10) == "harrell"
    trees = replace(replays, fitted=replace(replays.fitted, coefficients=None))
    assert leading(trees, events=5_000, columns=10) == "point632plus"
    told = demonstration.bundle().performance
    assert demonstration.bundle().corrected("c") == told["measures"]["c"][told["leads"]]


def test_every_measure_is_defined_and_nothing_is_defined_in_vain() -> None:
    told = demonstration.bundle().performance
    assert set(told["measures"]) <= set(told["definitions"])
    assert defined_in_vain(told) == set()


def test_the_slope_is_told_by_the_mean_too() -> None:
    replays, told = demonstration.trained().replays, demonstration.bundle().performance["measures"]["slope"]
    gaps = replays.per_replay["slope"][:, 0] - replays.per_replay["slope"][:, 1]
    assert told["harrell"] == pytest.approx(told["apparent"] - np.median(gaps))
    assert told["harrell_by_mean"] == pytest.approx(told["apparent"] - np.mean(gaps))


def test_the_slope_to_believe_is_that_of_left_out_estimates() -> None:
    trained = demonstration.trained()
    held, known = trained.fitted, trained.outcome.known
    assert held.left_out is not None
    # Outside reference: scikit-learn's logistic regression without a penalty.
    line = LogisticRegression(C=1e9, tol=1e-10, max_iter=1_000)
    line.fit(logit(held.left_out[known])[:, None], trained.outcome.label[known], trained.outcome.weight[known])
    assert trained.bundle.corrected("slope") == pytest.approx(line.coef_[0, 0], rel=1e-4)
    flat = replace(held, probability=expit(0.29 * (logit(held.probability) / logit(held.probability).std())))
    assert (
        slope_left_out(flat, trained.outcome).reason == "the log-odds given have an SD under 0.3: too alike for a slope"
    )


def test_a_flat_scale_draws_what_is_not_learned_as_widely_as_scales_are_held_to_be() -> None:
    cohort, plain = demonstration.cohort(), demonstration.protocol()
    design, outcome = learn(cohort, plain), at_horizon(cohort, plain)
    own = np.isnan(design.priors.sd)
    few = replace(design, learned=design.learned & (np.arange(len(own)) < 2))
    held = SumOfTerms("penalised", rank=2, uses_terms=True, scale="flat").fit(
        few, cohort, outcome, counts=np.ones(len(cohort)), rng=np.random.default_rng(1)
    )
    drawn = draws(few, held, 4_000, np.random.default_rng(1))[:, 1:]
    assert drawn[:, own & ~few.learned].std(axis=0) == pytest.approx(design.priors.hyper_sd, rel=0.06)


def test_whether_a_signal_is_heard_is_asked_in_effective_children() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    design, outcome, once = learn(cohort, protocol), at_horizon(cohort, protocol), np.ones(len(cohort))
    fixed = SumOfTerms("penalised", rank=2, uses_terms=True, scale=0.5)
    found = fixed.fit(design, cohort, outcome, counts=once, rng=np.random.default_rng(1))
    assert found.left_out is not None
    p, weight = found.left_out, kish(outcome.weight, once) * outcome.weight
    rest = (weight @ outcome.label - weight * outcome.label) / (weight.sum() - weight)
    by_hand = [weight @ xlogy(outcome.label, q) + weight @ xlogy(1 - outcome.label, 1 - q) for q in (p, rest)]
    assert found.gain == pytest.approx(by_hand[0] - by_hand[1])


def test_a_centre_block_widens_every_interval_and_stays_out_of_the_sum() -> None:
    cohort, plain = demonstration.cohort(), demonstration.protocol()
    protocol = replace(plain, fit=replace(plain.fit, centre_sd=0.4))
    held = fit(cohort, protocol, times=20).bundle
    own = demonstration.bundle()
    assert [term.name for term in held.terms] == [term.name for term in own.terms]
    assert held.draws.shape == own.draws.shape
    spread = held.model.drawn_log_odds(held.column_means[None])[0].std()
    before = own.model.drawn_log_odds(own.column_means[None])[0].std()
    assert spread**2 - before**2 > 0.5 * 0.4**2


def test_centre_effects_are_learned_beside_the_sum() -> None:
    cohort, plain = demonstration.cohort(), demonstration.protocol()
    protocol = replace(plain, fit=replace(plain.fit, centre_sd=1.0))
    design = learn(cohort, protocol)
    assert design.centres.sum(axis=1) == pytest.approx(np.ones(len(cohort)))
    outcome = at_horizon(cohort, protocol)
    candidate = SumOfTerms("penalised", rank=2, uses_terms=True, scale=0.5)
    found = candidate.fit(design, cohort, outcome, counts=np.ones(len(cohort)), rng=np.random.default_rng(1))
    assert found.posterior is not None
    assert found.coefficients is not None
    assert len(found.coefficients) == design.recipe.width
    effects = found.posterior.mean[1 + np.count_nonzero(design.learned) :]
    # At the mode what a centre's children leave unexplained is what the prior, of variance 1, holds against it.
    log_odds = (found.intercept or 0.0) + design.columns @ found.coefficients + design.centres @ effects
    left_over = outcome.weight * (outcome.label - expit(log_odds))
    assert effects == pytest.approx(design.centres.T @ left_over, abs=1e-6)
    assert np.abs(effects).max() > 0.05


def test_a_predictor_scored_at_its_last_value_is_not_asked_for() -> None:
    protocol = demonstration.protocol("revision_24m_long")
    protocol = replace(protocol, fit=replace(protocol.fit, candidates=("penalised",)))
    held = fit(demonstration.cohort("revision_24m_long"), protocol, times=2).bundle
    last = held.ranges.numbers["operation_year"][1]
    assert held.scored_at == {"operation_year": last}
    values = dict(read_case_file(demonstration.CASES / "TW-204.toml").values)
    scorer, on = Scorer(held), date(2026, 12, 1)
    one, other = (scorer.score({**values, "operation_year": year}, on=on) for year in (2010, 2024))
    assert one == other
    told = next(part for part in one.contributions if part.term == "operation_year")
    assert told.value == last


def test_a_cohort_that_cannot_tell_the_outcome_is_refused() -> None:
    cohort = demonstration.cohort()
    few = cohort.take(np.flatnonzero(at_horizon(cohort, demonstration.protocol()).label == 0))
    with pytest.raises(OutcomeRefused, match="at least 5 known events and 5 known non-events"):
        fit(few, demonstration.protocol(), times=20)
