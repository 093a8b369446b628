"""From the columns of a registry to courses: a blank is never a no, and the first end counts."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Severity
from tests.training.cohort.registry import checked, small
from training.cohort import Course, Status, course
from training.cohort.courses import can_tell, course_of, events_after_the_end, made_of, plain_course
from training.protocol import OutcomeRules

Told = Callable[..., Course]


@pytest.fixture
def words(tmp_path: Path) -> Dictionary:
    return small(tmp_path)


@pytest.fixture
def told(words: Dictionary) -> Told:
    """The course that these columns tell; columns without a fault are expected."""

    def tell(competes: tuple[str, ...] = (), **columns: list[str]) -> Course:
        cases, findings = checked(words, columns)
        assert [finding for finding in findings if finding.severity is Severity.ERROR] == []
        rules = OutcomeRules(name="failure", competes=competes)
        return course_of(cases, words, rules.extend(words.outcomes["failure"]))

    return tell


def test_a_yes_is_an_event_a_no_is_free_and_a_blank_is_unknown(told: Told) -> None:
    held = told(
        failure=["yes", "no", "unknown", ""], failure_months=["7", "", "", ""], last_scan_months=["9", "24", "30", "36"]
    )

    assert held.status.tolist() == [Status.EVENT, Status.FREE, Status.UNKNOWN, Status.UNKNOWN]
    np.testing.assert_array_equal(held.timed, [7, 24, np.nan, np.nan])


def test_without_the_outcome_itself_its_first_event_tells_it(told: Told) -> None:
    held = told(
        breakage=["yes", "yes", "no", "no", "no"],
        breakage_months=["9", "9", "", "", ""],
        pull_out=["yes", "no", "no", "", "unknown"],
        pull_out_months=["4", "", "", "", ""],
        last_scan_months=["12"] * 5,
    )

    assert held.status.tolist() == [1, 1, 0, 3, 3]
    np.testing.assert_array_equal(held.timed, [4, 9, 12, np.nan, np.nan])


def test_a_competing_end_ends_the_course_even_after_the_last_scan(told: Told) -> None:
    held = told(
        failure=["no", "unknown", "yes"],
        failure_months=["", "", "10"],
        other_end=["death", "death", "death"],
        other_end_months=["20", "20", "15"],
        last_scan_months=["20", "20", "16"],
    )

    assert held.status.tolist() == [2, 3, 1]
    np.testing.assert_array_equal(held.timed, [20, np.nan, 10])


def test_the_protocol_may_add_ends_that_compete(told: Told) -> None:
    columns = {"failure": ["no"], "removal": ["yes"], "removal_months": ["8"], "last_scan_months": ["30"]}

    assert told(**columns).status.tolist() == [Status.FREE]
    assert told(("removal",), **columns).status.tolist() == [Status.COMPETING]
    assert told(("removal",), **columns).timed.tolist() == [8]


def test_an_event_and_a_competing_end_on_one_day_are_an_event(told: Told) -> None:
    held = told(
        failure=["yes"], failure_months=["8"], other_end=["death"], other_end_months=["8"], last_scan_months=["8"]
    )

    assert held.status.tolist() == [Status.EVENT]


def test_leaving_the_area_ends_the_follow_up_and_nothing_else(told: Told) -> None:
    held = told(
        failure=["no", "no", "yes"],
        failure_months=["", "", "12"],
        other_end=["left_area"] * 3,
        other_end_months=["9", "40", "9"],
        last_scan_months=["24", "24", "24"],
    )

    assert held.status.tolist() == [0, 0, 1]
    assert held.timed.tolist() == [9, 24, 12]


def test_a_no_without_a_time_of_follow_up_is_unknown(told: Told) -> None:
    held = told(
        failure=["no", "no"], last_scan_months=["", "6"], other_end=["left_area", "none"], other_end_months=["5", ""]
    )

    assert held.status.tolist() == [Status.UNKNOWN, Status.FREE]


def test_an_event_after_an_end_that_rules_it_out_is_a_finding(words: Dictionary) -> None:
    columns = {
        "failure": ["no", "yes", "yes"],
        "failure_months": ["", "14", "10"],
        "other_end": ["none", "death", "death"],
        "other_end_months": ["", "10", "10"],
        "last_scan_months": ["20", "20", "20"],
    }
    cases, _ = checked(words, columns)

    (finding,) = events_after_the_end(cases, words, words.outcomes["failure"], "children", (2, 3, 4))

    assert (finding.row, finding.column) == (3, "failure_months")
    assert finding.found == "failure after 14.0 months, but death after 10.0"


def test_an_outcome_can_be_told_only_with_its_time_of_follow_up(words: Dictionary) -> None:
    outcome = words.outcomes["failure"]

    assert can_tell(checked(words, {"failure": ["no"], "last_scan_months": ["3"]})[0], outcome)
    assert can_tell(checked(words, {"breakage": ["no"], "last_scan_months": ["3"]})[0], outcome)
    assert not can_tell(checked(words, {"failure": ["no"]})[0], outcome)
    assert not can_tell(checked(words, {"last_scan_months": ["3"]})[0], outcome)


def test_a_plain_column_has_no_times(words: Dictionary) -> None:
    cases, _ = checked(words, {"other_end": ["death", "none", ""], "other_end_months": ["3", "", ""]})

    held = plain_course(cases, words, "other_end", "death")

    assert held.status.tolist() == [1, 0, 3]
    assert held.months is None
    with pytest.raises(ValueError, match="has no times"):
        _ = held.timed


def test_made_of_counts_the_first_event_of_each_child(words: Dictionary) -> None:
    columns = {
        "breakage": ["yes", "yes", "no"],
        "breakage_months": ["4", "9", ""],
        "pull_out": ["yes", "yes", "no"],
        "pull_out_months": ["4", "5", ""],
        "last_scan_months": ["12", "12", "12"],
    }
    cases, _ = checked(words, columns)
    outcome = words.outcomes["failure"]

    assert made_of(cases, words, outcome, course_of(cases, words, outcome)) == {"breakage": 1, "pull_out": 2}


def test_a_course_is_checked_and_locked() -> None:
    held = course([0, 1, 3], [5, 2, 9])

    assert np.isnan(held.timed[2])
    with pytest.raises(ValueError, match="read-only"):
        held.status[0] = 1
    with pytest.raises(ValueError, match="each of 0 to 3"):
        course([4])
    with pytest.raises(ValueError, match="needs a time of 0 months or more"):
        course([0, 1], [np.nan, 2])
    with pytest.raises(ValueError, match="2 children needs as many times"):
        course([0, 1], [2])
