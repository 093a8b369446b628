"""A check elsewhere: its numbers against another library, what it says, and what it notes."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest
import statsmodels.api as sm

from riskmodel.bundle import Use
from riskmodel.cases.table import CaseTable
from riskmodel.errors import OutcomeRefused
from riskmodel.monitoring import Verdict
from riskmodel.scoring import Scorer
from tests import demonstration
from tests.training.updating import worlds
from training.cohort import Cohort, course
from training.metrics import MEASURE_NAMES, TOO_FEW
from training.updating import Elsewhere, check_elsewhere, noted
from training.updating.parts import between_centres

ON = date(2026, 12, 1)


@cache
def halves() -> Elsewhere:
    return check_elsewhere(*worlds.halves(), on=ON, times=60)


@cache
def others() -> Elsewhere:
    protocol = demonstration.protocol(worlds.REVISION)
    return check_elsewhere(worlds.model(), protocol, worlds.others(), on=ON, times=60)


def test_calibration_of_the_other_half_equals_a_generalised_linear_model() -> None:
    """Source: statsmodels GLM (binomial), with the model's log-odds as offset and as the one regressor."""
    held = halves().children
    y, log_odds = held.outcome.label, held.log_odds
    free = sm.GLM(y, sm.add_constant(log_odds), family=sm.families.Binomial()).fit()
    fixed = sm.GLM(y, np.ones((len(y), 1)), family=sm.families.Binomial(), offset=log_odds).fit()
    found = halves().performance.measures
    assert found["citl"].value == pytest.approx(fixed.params[0], abs=1e-6)
    assert (found["citl"].low, found["citl"].high) == pytest.approx(fixed.conf_int()[0], abs=1e-5)
    assert found["slope"].value == pytest.approx(free.params[1], abs=1e-6)
    assert (found["slope"].low, found["slope"].high) == pytest.approx(free.conf_int()[1], abs=1e-5)
    assert found["observed_expected"].value == pytest.approx(y.mean() / held.probability.mean())


def test_the_probabilities_are_those_that_scoring_gives() -> None:
    held = others().children
    told = {name: each for name, each in held.cohort.cases.columns.items() if name in held.bundle.dictionary.variables}
    scored = Scorer(held.bundle).arrays(CaseTable(held.cohort.cases.keys, told), on=ON)
    assert (scored.shown == held.shown).all()
    assert 0.8 < held.shown.mean() < 1
    assert held.probability[held.shown] == pytest.approx(scored.probability[held.shown], abs=1e-12)


@pytest.mark.parametrize("found", [halves, others])
def test_every_measure_has_an_interval_or_a_reason(found: object) -> None:
    measures = found().performance.measures  # type: ignore[operator]
    assert tuple(measures) == MEASURE_NAMES
    for name, ranged in measures.items():
        if ranged.low is None:
            assert ranged.reason, name
        elif name not in {"ici", "e50", "e90", "emax"}:
            assert ranged.low <= ranged.value <= ranged.high, name


def test_the_curve_lies_within_its_band() -> None:
    curve = others().performance.curve
    inside = (curve.low <= curve.observed + 1e-9) & (curve.observed <= curve.high + 1e-9)
    assert inside.mean() > 0.9
    assert len(curve.predicted) == len(curve.low) == 50


def test_the_drawn_children_of_the_development_cohort_are_like_it() -> None:
    """Their log-odds have the mean and spread of the cohort that the bundle was made from."""
    own = check_children(demonstration.cohort(worlds.REVISION))
    there = others().case_mix.there
    assert there.mean == pytest.approx(own.mean(), abs=0.1)
    assert there.sd == pytest.approx(own.std(), rel=0.15)


def check_children(cohort: Cohort) -> np.ndarray:
    from training.updating import children

    return children(worlds.model(), demonstration.protocol(worlds.REVISION), cohort).log_odds


def test_where_children_are_more_alike_the_expected_c_is_lower() -> None:
    whole = others()
    middle = np.argsort(np.abs(whole.children.log_odds - np.median(whole.children.log_odds)))[:120]
    alike = check_elsewhere(
        worlds.model(), whole.children.protocol, whole.children.cohort.take(middle), on=ON, times=20
    )
    assert alike.case_mix.here.sd < whole.case_mix.here.sd
    assert alike.case_mix.here.c_if_right < whole.case_mix.here.c_if_right


def test_differences_are_in_standard_deviations_of_the_development_cohort() -> None:
    cohort = worlds.others()
    older = np.flatnonzero(cohort.cases["age_years"].values > 10)
    found = check_elsewhere(
        worlds.model(), demonstration.protocol(worlds.REVISION), cohort.take(older), on=ON, times=20
    )
    line = next(line for line in found.case_mix.lines if line.variable == "age_years")
    assert line.here == pytest.approx(cohort.cases["age_years"].values[older].mean())
    assert line.there_sd is not None
    assert line.here is not None
    assert line.difference is not None
    assert line.difference == pytest.approx((line.here - line.there) / line.there_sd)
    assert line.difference > 1


def test_parts_add_up_and_few_events_say_so() -> None:
    found = others()
    of_centres = [part for part in found.parts if part.of == "centre"]
    assert sum(part.events for part in of_centres) == found.children.outcome.events
    assert sum(part.children for part in of_centres) == int(found.children.cohort.course.known.sum())
    for part in found.parts:
        held = part.measures
        assert (held["c"].reason == TOO_FEW) == (held["slope"].reason == TOO_FEW) == part.few
        assert held["observed_expected"].reason != TOO_FEW
    # Few events in a centre are no reason to leave it out of the ratio: that would keep those where more happened.
    between = between_centres(found.children)
    assert set(between) == {"log_observed_expected"}
    assert between["log_observed_expected"].centres == sum(part.events > 0 for part in of_centres)


def test_centres_with_enough_events_are_pooled() -> None:
    cohort = worlds.others(5, 900)
    found = check_elsewhere(worlds.model(), demonstration.protocol(worlds.REVISION), cohort, on=ON, times=20)
    assert set(found.between) == {"logit_c", "log_observed_expected", "slope"}
    pooled = found.between["log_observed_expected"]
    assert pooled.centres == 4
    assert found.between["slope"].centres >= 3
    assert pooled.prediction_low <= pooled.low <= pooled.mean <= pooled.high <= pooled.prediction_high


def test_years_hold_only_children_whose_horizon_has_passed() -> None:
    found = others()
    assert max(int(period.name) for period in found.years) <= 2023
    young = check_elsewhere(
        worlds.model(), found.children.protocol, found.children.cohort, on=date(2016, 1, 1), times=20
    )
    assert max(int(period.name) for period in young.years) == 2013
    assert all(period.verdict in Verdict for period in found.years)


def test_what_few_children_can_tell_is_said_in_plain_words() -> None:
    told = " ".join(others().tells)
    assert "18 events and 147 known non-events among 218 children: enough to look at the average" in told
    assert "cannot be judged under 100 events" in told
    assert "no proof that it is right for the next ones" in told


def test_a_model_that_is_wrong_on_average_is_called_so() -> None:
    bundle = replace(worlds.model(), intercept=worlds.model().intercept - 1.5)
    found = check_elsewhere(bundle, demonstration.protocol(worlds.REVISION), worlds.others(), on=ON, times=20)
    assert "More happened than the model expected" in " ".join(found.tells)
    assert "needs recalibration" in " ".join(found.tells)


def test_the_check_is_noted_in_a_new_bundle() -> None:
    before = worlds.model()
    after = worlds.written(noted(others()))
    assert after.parents == (before.digest,)
    assert after.digest != before.digest
    assert after.use is Use.STUDY
    check = after.local_checks[-1]
    assert (check.on, check.centre, check.children, check.events) == (ON, "4 centres", 215, 15)
    assert check.observed_expected == pytest.approx(others().performance.measures["observed_expected"].value, abs=5e-4)
    again = noted(replace(others(), children=replace(others().children, bundle=after)))
    assert again.parents == (before.digest, after.digest)
    assert len(again.local_checks) == 2


def test_local_use_has_to_be_asked_for_and_needs_events() -> None:
    assert noted(others(), use_local=True).use is Use.LOCAL
    assert noted(halves()).use is Use.STUDY
    with pytest.raises(OutcomeRefused, match="at least 10 known events and 10 known non-events; found 8 and 32"):
        noted(halves(), use_local=True)


def test_one_kind_of_outcome_or_too_little_follow_up_is_refused() -> None:
    bundle, protocol, cohort = worlds.halves()
    spared = cohort.take(np.flatnonzero(cohort.course.status == 0))
    with pytest.raises(OutcomeRefused, match="at least 1 known event and 1 known non-event; found 0 and"):
        check_elsewhere(bundle, protocol, spared, on=ON)
    others_cohort = worlds.others()
    held = others_cohort.course
    short = replace(others_cohort, course=course(held.status, np.minimum(held.timed, 20.0)))
    with pytest.raises(OutcomeRefused, match=r"at least 1 known|at least 10 children still followed"):
        check_elsewhere(worlds.model(), demonstration.protocol(worlds.REVISION), short, on=ON)


def test_the_children_that_the_model_was_made_from_are_no_check() -> None:
    cohort = demonstration.cohort(worlds.REVISION)
    with pytest.raises(OutcomeRefused, match="needs other children than those that the model was made from"):
        check_elsewhere(worlds.model(), demonstration.protocol(worlds.REVISION), cohort, on=ON, times=20)
