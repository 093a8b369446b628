"""Statuses and times must fit together, and outcomes follow from their events."""

import numpy as np
import pytest

from riskmodel.dictionary.model import Dictionary
from riskmodel.tables import Cell
from tests.riskmodel.cases.builders import checked, told

NO, YES, UNKNOWN = 0.0, 1.0, 2.0


@pytest.mark.parametrize(
    ("status", "months", "seen", "rules"),
    [
        ("yes", "6", "24", []),
        ("yes", "24", "24", []),
        ("no", "", "24", []),
        ("unknown", "", "24", []),
        ("", "", "24", []),
        ("yes", "", "24", ["time_missing"]),
        ("no", "6", "24", ["time_without_event"]),
        ("unknown", "6", "24", ["time_without_event"]),
        ("", "6", "24", ["time_without_event"]),
        ("yes", "0", "24", ["not_after_operation"]),
        ("yes", "24.2", "24", ["after_last_seen"]),
        ("yes", "6", "", []),
        ("no", "", "", ["no_follow_up"]),
    ],
)
def test_a_time_stands_with_a_yes_within_the_follow_up(
    status: str, months: str, seen: str, rules: list[str], held: Dictionary
) -> None:
    columns = {"key": ["k1"], "failure": [status], "failure_months": [months], "last_scan_months": [seen]}
    _, findings = checked(held, columns)
    assert [finding.rule for finding in findings] == rules


def test_a_blank_is_never_a_no(held: Dictionary) -> None:
    table, _ = checked(held, {"key": ["k1", "k2"], "failure": ["", "no"], "last_scan_months": ["24", "24"]})
    assert table["failure"].missing[0]
    assert table["failure"].values[1] == NO


def test_a_part_of_an_outcome_is_followed_like_the_outcome(held: Dictionary) -> None:
    columns: dict[str, list[Cell]] = {
        "key": ["k1"],
        "broken": ["yes"],
        "broken_months": ["30"],
        "last_scan_months": ["24"],
        "last_contact_months": ["48"],
        "loose": ["no"],
    }
    _, findings = checked(held, columns)
    assert ("after_last_seen", 2, "broken_months") in told(findings)


def test_another_end_is_held_against_the_latest_follow_up(held: Dictionary) -> None:
    columns: dict[str, list[Cell]] = {
        "key": ["k1", "k2"],
        "other_end": ["death", "death"],
        "other_end_months": ["30", "60"],
        "last_scan_months": ["24", "24"],
        "last_contact_months": ["48", "48"],
    }
    _, findings = checked(held, columns)
    assert told(findings) == [("after_last_seen", 3, "death_months")]


def test_another_end_supplies_the_events_it_names(held: Dictionary) -> None:
    columns: dict[str, list[Cell]] = {
        "key": ["k1", "k2", "k3", "k4"],
        "other_end": ["death", "moved", "none", ""],
        "other_end_months": ["5", "7", "", ""],
    }
    table, findings = checked(held, columns)
    assert not findings
    np.testing.assert_array_equal(table["death"].values, [YES, NO, NO, np.nan])
    np.testing.assert_array_equal(table["death_months"].values, [5.0, np.nan, np.nan, np.nan])
    assert "moved" not in table


def test_another_end_needs_its_time(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1"], "other_end": ["moved"]})
    assert told(findings) == [("time_missing", 2, "other_end_months")]


def test_another_end_and_the_event_itself_must_agree(held: Dictionary) -> None:
    columns: dict[str, list[Cell]] = {
        "key": ["k1", "k2", "k3", "k4"],
        "other_end": ["none", "death", "death", "death"],
        "other_end_months": ["", "5", "5", "5"],
        "death": ["yes", "yes", "yes", ""],
        "death_months": ["4", "9", "5", ""],
    }
    table, findings = checked(held, columns)
    assert told(findings) == [("ends_disagree", 2, "death"), ("ends_disagree", 3, "death_months")]
    assert "but other_end says no" in findings[0].found
    assert table["death_months"].values[3] == 5.0


def _events(broken: list[Cell], loose: list[Cell], **more: list[Cell]) -> dict[str, list[Cell]]:
    """Events with a time of 10 (broken) or 4 (loose) months wherever there is a yes."""
    return {
        "key": [f"k{n}" for n in range(len(broken))],
        "broken": broken,
        "broken_months": ["10" if cell == "yes" else "" for cell in broken],
        "loose": loose,
        "loose_months": ["4" if cell == "yes" else "" for cell in loose],
        "last_scan_months": ["24"] * len(broken),
        **more,
    }


def test_an_outcome_is_the_first_of_its_events_and_no_only_if_each_is(held: Dictionary) -> None:
    broken: list[Cell] = ["yes", "yes", "no", "no", "no", "", "yes"]
    loose: list[Cell] = ["yes", "no", "no", "unknown", "", "", "unknown"]
    table, findings = checked(held, _events(broken, loose))
    assert not findings
    np.testing.assert_array_equal(table["failure"].values, [YES, YES, NO, UNKNOWN, np.nan, np.nan, YES])
    np.testing.assert_array_equal(table["failure_months"].values, [4, 10, np.nan, np.nan, np.nan, np.nan, 10])


def test_without_one_event_nobody_is_known_to_be_free(held: Dictionary) -> None:
    columns = _events(["yes", "no"], ["no", "no"])
    del columns["loose"], columns["loose_months"]
    table, (finding,) = checked(held, columns)
    assert told([finding]) == [("events_absent", None, "failure")]
    assert "no column for loose" in finding.found
    np.testing.assert_array_equal(table["failure"].values, [YES, np.nan])


def test_an_outcome_and_its_events_must_agree(held: Dictionary) -> None:
    broken: list[Cell] = ["yes", "no", "yes", "yes", "no"]
    loose: list[Cell] = ["no"] * 5
    columns = _events(broken, loose, failure=["no", "yes", "yes", "", "no"], failure_months=["", "8", "3", "", ""])
    table, findings = checked(held, columns)
    assert told(findings) == [
        ("ends_disagree", 2, "failure"),
        ("ends_disagree", 3, "failure"),
        ("ends_disagree", 4, "failure_months"),
    ]
    assert "its events" in findings[0].found
    assert (table["failure"].values[3], table["failure_months"].values[3]) == (YES, 10.0)


def test_a_group_is_filled_in_or_held_against_the_file(held: Dictionary) -> None:
    columns: dict[str, list[Cell]] = {
        "key": ["k1", "k2", "k3", "k4"],
        "fruit": ["lemon", "pear", "apple", ""],
        "family": ["", "rose", "rue", "rue"],
    }
    table, findings = checked(held, columns)
    assert told(findings) == [("group_disagrees", 4, "family")]
    assert "rue, but fruit is apple" in findings[0].found
    np.testing.assert_array_equal(table["family"].values, [0, 1, 1, 0])
