"""Refusals and warnings about a cohort that cannot, or can barely, tell the outcome."""

import numpy as np
import pytest

from riskmodel.errors import OutcomeRefused, Severity
from tests.training.builders import PLAIN, cohort, cohort_of, timed, two_centres
from training.cohort import course
from training.outcome import at_horizon, check_enough


def test_enough_is_enough() -> None:
    outcome = at_horizon(cohort([12.0] * 10 + [30.0] * 30, [1] * 10 + [0] * 30), timed(24))

    assert check_enough(outcome) == ()


@pytest.mark.parametrize(
    ("events", "others", "says"),
    [
        (3, 40, "found 3 and 40 among 43 children"),
        (0, 40, "found 0 and 40 among 40 children"),
        (40, 0, "found 40 and 0 among 40 children"),
        (1, 0, "found 1 and 0 among 1 children"),
    ],
)
def test_under_five_of_either_kind_is_refused_naming_both_counts(events: int, others: int, says: str) -> None:
    plain = at_horizon(cohort_of(course([1] * events + [0] * others)), PLAIN)
    dated = at_horizon(cohort([12.0] * events + [30.0] * others, [1] * events + [0] * others), timed(24))

    for outcome in (plain, dated):
        with pytest.raises(OutcomeRefused, match=f"at least 5 known events and 5 known non-events.*; {says}"):
            check_enough(outcome)


def test_competing_ends_are_known_non_events() -> None:
    outcome = at_horizon(cohort([12.0] * 20 + [30.0] * 10, [1] * 10 + [2] * 10 + [0] * 10), timed(24))

    assert (outcome.events, outcome.non_events) == (10, 20)


def test_five_to_nine_events_pass_with_a_word_about_study() -> None:
    (finding,) = check_enough(at_horizon(cohort_of(course([1] * 9 + [0] * 40)), PLAIN))

    assert finding.severity is Severity.WARNING
    assert finding.found == "9 known events and 40 known non-events"
    assert "for study only" in finding.accepted


def test_a_horizon_past_the_follow_up_is_refused_with_the_number_still_followed() -> None:
    outcome = at_horizon(cohort([12.0] * 20 + [30.0] * 20 + [80.0] * 9, [1] * 20 + [0] * 29), timed(60))

    with pytest.raises(OutcomeRefused, match=r"at least 10 children still followed.*found 9 at 60 months; accepted"):
        check_enough(outcome)


def test_ten_still_followed_are_enough() -> None:
    outcome = at_horizon(cohort([12.0] * 20 + [80.0] * 10, [1] * 10 + [2] * 10 + [0] * 10), timed(60))

    assert check_enough(outcome) == ()


def test_every_refusal_is_said_at_once() -> None:
    outcome = at_horizon(cohort([12.0] * 20, [1] * 3 + [0] * 17), timed(24))

    with pytest.raises(OutcomeRefused, match=r"(?s)found 3 and 0 among 20.*found 0 at 24 months"):
        check_enough(outcome)


@pytest.mark.parametrize(("lost", "warned"), [(10, False), (11, True)])
def test_over_a_fifth_censored_before_the_horizon_is_said(lost: int, warned: bool) -> None:
    months = [12.0] * lost + [13.0] * 10 + [30.0] * (40 - lost)
    findings = check_enough(at_horizon(cohort(months, [0] * lost + [1] * 10 + [0] * (40 - lost)), timed(24)))

    assert [finding.rule for finding in findings] == (["censored_before_horizon"] if warned else [])


def test_the_share_censored_is_of_the_children_whose_course_is_stated() -> None:
    months = [12.0] * 11 + [13.0] * 10 + [30.0] * 29 + [np.nan] * 5
    (finding,) = check_enough(at_horizon(cohort(months, [0] * 11 + [1] * 10 + [0] * 29 + [3] * 5), timed(24)))

    assert finding.found.startswith("11 of 50 children (22%)")


def test_pooled_censoring_in_place_of_by_centre_is_said() -> None:
    findings = check_enough(at_horizon(two_centres(first=6), timed(24, by_centre=True)))

    assert "censoring_pooled" in [finding.rule for finding in findings]
