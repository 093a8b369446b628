"""Each centre in turn: what it is shown was learned without it, and the rule for small centres is kept."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit, logit

from tests.training.validation.worlds import examined, placed, plain
from training.candidates import KNOWN
from training.cohort import course
from training.meta import random_effects
from training.protocol import ReportRules, SmallCentres
from training.validation.centres import leave_one_out
from training.validation.refit import Examined
from training.validation.standing import of


def four(count: int = 400, **rules: object) -> Examined:
    cohort, protocol = plain(count)
    asked = replace(protocol, report=ReportRules(**rules))  # type: ignore[arg-type]
    return examined(placed(cohort, np.arange(count) % 4), asked)


def with_events(held: Examined, centre: int, keep: int) -> Examined:
    """The same world in which only the first `keep` events of a centre happened."""
    codes = held.cohort.centre.values if held.cohort.centre is not None else np.empty(0)
    events = np.flatnonzero((codes == centre) & (held.outcome.label == 1.0))
    status = held.cohort.course.status.copy()
    status[events[keep:]] = 0
    return examined(replace(held.cohort, course=course(status)), held.protocol)


def test_what_a_centre_is_given_was_learned_without_its_outcomes() -> None:
    held = four()
    rows = held.cohort.centre.values == 2  # type: ignore[union-attr]
    status = held.cohort.course.status.copy()
    status[rows] = 1 - status[rows]
    turned = examined(replace(held.cohort, course=course(status)), held.protocol)
    first, other = leave_one_out(held).left_out, leave_one_out(turned).left_out
    by_name, turned_by_name = ({each.name: each for each in part} for part in (first, other))
    assert by_name["U2"].mean_risk == turned_by_name["U2"].mean_risk
    assert by_name["U2"].rate != turned_by_name["U2"].rate
    assert by_name["U1"].mean_risk != turned_by_name["U1"].mean_risk


def test_leaving_out_equals_fitting_the_others_alone() -> None:
    held = four()
    rows = held.cohort.centre.values == 1  # type: ignore[union-attr]
    alone = examined(held.cohort.take(~rows), held.protocol)
    assert alone.fitted.intercept is not None
    risks = expit(alone.fitted.intercept + held.design.columns[rows] @ alone.fitted.coefficients)
    found = next(each for each in leave_one_out(held).left_out if each.name == "U1")
    assert found.mean_risk == pytest.approx(risks.mean(), abs=1e-8)


def test_the_pooled_c_is_that_of_random_effects_on_the_logit_scale() -> None:
    held = four()
    values, errors = [], []
    for code in range(4):
        rows = held.cohort.centre.values == code  # type: ignore[union-attr]
        fit = held.again(counts=(~rows).astype(np.float64))
        found = of(held.outcome, fit.fitted.probability, rows)
        values.append(found.logit_c.value)
        errors.append(found.logit_c.standard_error)
    by_hand = random_effects(values, errors, never_below_normal=True)  # type: ignore[arg-type]
    pooled = leave_one_out(held).pooled["c"]
    assert pooled.centres == 4
    assert pooled.value is not None
    assert logit(pooled.value) == pytest.approx(by_hand.mean, abs=1e-8)
    assert logit([pooled.new_low, pooled.new_high]) == pytest.approx(
        [by_hand.prediction_low, by_hand.prediction_high], abs=1e-8
    )


def test_the_range_for_a_new_centre_holds_that_of_the_mean() -> None:
    for pooled in leave_one_out(four()).pooled.values():
        assert None not in (pooled.new_low, pooled.low, pooled.high, pooled.new_high)
        assert pooled.new_low <= pooled.low <= pooled.value <= pooled.high <= pooled.new_high  # type: ignore[operator]


def test_small_centres_are_left_out_together() -> None:
    found = leave_one_out(with_events(four(), 3, 4))
    names = [each.name for each in found.left_out]
    assert len(names) == 3
    assert any(name.startswith("U3 + ") for name in names)
    assert all(each.c.value is not None for each in found.left_out)
    assert "are left out together" in found.rule


def test_or_they_are_told_by_observed_over_expected_alone() -> None:
    found = leave_one_out(with_events(four(small_centres=SmallCentres.OBSERVED_EXPECTED), 3, 4))
    small = next(each for each in found.left_out if each.name == "U3")
    assert small.c.value is None
    assert small.observed_expected.value is not None
    assert (found.pooled["c"].centres, found.pooled["observed_expected"].centres) == (3, 4)


def test_a_centre_without_events_stops_nothing() -> None:
    found = leave_one_out(with_events(four(small_centres=SmallCentres.OBSERVED_EXPECTED), 3, 0))
    empty = next(each for each in found.left_out if each.name == "U3")
    assert (empty.events, empty.rate) == (0, 0.0)
    assert empty.observed_expected.reason == "no event among the children whose outcome is known"
    assert found.pooled["observed_expected"].centres == 3


def test_with_one_centre_or_none_there_is_a_reason() -> None:
    cohort, protocol = plain()
    assert leave_one_out(examined(cohort, protocol)).reason == "the protocol names no centre"
    alone = examined(placed(cohort, np.zeros(len(cohort))), protocol)
    assert leave_one_out(alone).reason == "there is only one centre to leave out"


def test_a_child_without_a_centre_is_never_left_out() -> None:
    cohort, protocol = plain(400)
    codes = np.where(np.arange(400) < 40, np.nan, np.arange(400) % 2)
    found = leave_one_out(examined(placed(cohort, codes), protocol))
    assert sum(each.children for each in found.left_out) == 360


def test_a_measure_that_is_the_same_whatever_happened_is_not_pooled() -> None:
    held = four()
    rate = KNOWN["rate"](held.protocol)
    found = leave_one_out(replace(held, rule=rate))
    assert found.pooled["c"].value is None
    assert "at least 2 with an estimate" in (found.pooled["c"].reason or "")
    assert found.pooled["observed_expected"].value is not None
