"""What became of a cohort in numbers for people."""

from dataclasses import replace

import numpy as np
import pytest

from tests.training.builders import PLAIN, cohort, cohort_of, timed, two_centres
from tests.training.outcome.reference import d1, gbsg
from training.cohort import Status, course
from training.outcome import aalen_johansen, at_horizon, follow_up, rate, summarise


def test_every_child_is_in_one_place() -> None:
    held = cohort([10, 12, 5, 23, 30, 8], [1, 2, 0, 0, 0, 3])

    summary = summarise(held, timed(24, window=2))

    assert (summary.events, summary.competing, summary.free, summary.censored_before, summary.unstated) == (
        1,
        1,
        2,
        1,
        1,
    )
    assert summary.in_window == 1
    assert summary.at_risk == 2
    assert summary.children == 6


def test_the_rate_is_aalen_johansen_and_the_weighted_rate() -> None:
    held, protocol = two_centres(), timed(24)
    outcome = at_horizon(held, protocol)

    told = summarise(held, protocol)

    assert told.rate == pytest.approx(np.mean(outcome.weight * outcome.label), abs=1e-12)
    competing = np.mean(outcome.weight * (outcome.status == Status.COMPETING))
    assert told.competing_rate == pytest.approx(competing, abs=1e-12)


def test_the_rate_of_the_breast_cancer_trial_is_one_minus_kaplan_meier() -> None:
    """survival::survfit at 1096 days, R 4.2.2, survival 3.5.3."""
    data = gbsg()
    held = cohort(data["time"], data["status"])

    assert rate(held.course, timed(1096).outcome) == pytest.approx(d1()["gbsg"]["h1096"]["km"]["risk"], abs=1e-12)


def test_a_wider_window_moves_the_rate_the_way_the_moved_children_do() -> None:
    """Ten children, one event at 23.5; two last seen at 23 and 21: moved to 24 they are at risk when it happens."""
    held = cohort([23.5, 23, 21, *[30] * 7], [1, 0, 0, *[0] * 7])

    rates = summarise(held, timed(24, window=2)).rates_by_window

    assert rates == {0: pytest.approx(1 / 8), 2: pytest.approx(1 / 9), 4: pytest.approx(1 / 10)}
    assert summarise(held, timed(24)).rates_by_window == {}


def test_follow_up_is_the_median_of_the_censoring_curve_before_the_window() -> None:
    held = course([0, 0, 0, 0, 1, 3], [10, 23, 30, 40, 12, 50])

    assert follow_up(held) == 30
    assert summarise(cohort_of(held), timed(24, window=2)).follow_up_months == 30
    assert follow_up(course([1, 1, 1], [1, 2, 3])) is None
    assert follow_up(course([1, 0])) is None


def test_a_plain_outcome_has_a_rate_among_the_known_and_no_times() -> None:
    summary = summarise(cohort_of(course([1, 0, 0, 0, 3])), PLAIN)

    assert summary.rate == 0.25
    assert summary.competing_rate == 0
    assert summary.follow_up_months is None
    assert summary.unstated == 1


def test_nothing_known_has_no_rate() -> None:
    assert rate(course([3, 3]), PLAIN.outcome) is None
    assert rate(course([3, 3], [1, 2]), timed(24).outcome) is None


def test_each_definition_has_its_own_rate() -> None:
    held = cohort([10, 30, 30, 30], [1, 0, 0, 0])
    other = course([0, 1, 1, 0], [30, 5, 6, 30])

    summary = summarise(replace(held, definitions={"failure": held.course, "revision": other}), timed(24))

    assert summary.rates == {"failure": pytest.approx(0.25), "revision": pytest.approx(0.5)}
    assert aalen_johansen(other.timed, other.status, np.ones(4)).at(24.0) == pytest.approx(0.5)
