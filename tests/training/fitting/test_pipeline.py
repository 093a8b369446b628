"""From cohort to bundle: what the protocol's options do to the model that leaves."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from riskmodel.cases.casefile import read_case_file
from riskmodel.errors import OutcomeRefused
from riskmodel.model import expit
from riskmodel.scoring import Scorer
from tests import demonstration
from training.candidates import SumOfTerms
from training.features import learn
from training.fitting import fit
from training.outcome import at_horizon


def test_the_seed_decides_everything() -> None:
    again = fit(demonstration.cohort(), demonstration.protocol(), times=20).bundle
    assert np.array_equal(again.draws, demonstration.bundle().draws)
    other = replace(demonstration.protocol(), seed=2)
    assert not np.array_equal(fit(demonstration.cohort(), other, times=20).bundle.draws, again.draws)


def test_more_replays_move_no_coefficient() -> None:
    more = fit(demonstration.cohort(), demonstration.protocol(), times=40).bundle
    assert np.array_equal(more.coefficients, demonstration.bundle().coefficients)
    assert np.array_equal(more.draws, demonstration.bundle().draws)


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
    held = fit(demonstration.cohort("revision_24m_long"), protocol, times=20).bundle
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
