"""The door: header, keys, what is needed, and everything at once."""

import numpy as np
import pytest

from riskmodel import cases
from riskmodel.cases.header import Elsewhere
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import CasesRefused, Severity, refuse_errors
from riskmodel.tables import RawTable
from tests.riskmodel.cases.builders import checked, raw, told


def test_a_sound_table_passes_without_a_word(held: Dictionary) -> None:
    table, findings = checked(held, {"key": ["k1", "k2"], "unit": ["A", "B"], "count": [1, 2]})
    assert not findings
    assert table.keys == ("k1", "k2")
    assert table["unit"].labels == ("A", "B")
    assert list(table["unit"].values) == [0.0, 1.0]
    assert "key" not in table


def test_rows_are_named_as_the_spreadsheet_counts_them(held: Dictionary) -> None:
    table = RawTable("registry", ("key", "count"), (("k1", "x"), ("k2", "1"), ("k3", "y")), 4, (5, 7, 11))
    _, findings = cases.check(table, held)
    assert [(finding.sheet, finding.row) for finding in findings] == [("registry", 5), ("registry", 11)]


def test_without_a_key_column_rows_are_known_by_their_number(held: Dictionary) -> None:
    table, _ = checked(held, {"count": [1, 2]})
    assert table.keys == ("2", "3")


def test_a_key_twice_or_missing_is_an_error(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1", "k2", "k1", ""], "count": [1, 2, 3, 4]})
    assert told(findings) == [("duplicate_key", 4, "key"), ("missing_key", 5, "key")]
    assert "which row 2 has too" in findings[0].found


def test_an_unknown_column_is_ignored_with_the_nearest_name(held: Dictionary) -> None:
    table, (finding,) = checked(held, {"key": ["k1"], "lenght_mm": ["x"]})
    assert (finding.rule, finding.severity) == ("unknown_column", Severity.WARNING)
    assert finding.accepted == "length_mm (the nearest known name)"
    assert list(table.columns) == []


def test_names_known_elsewhere_pass_in_silence_and_later_ones_are_told_apart(held: Dictionary) -> None:
    elsewhere = Elsewhere(later=("swelling",), passed_over=("weight",))
    columns = {"key": ["k1", "k2"], "swelling": ["much", ""], "weight": ["heavy", "x"]}
    table, findings = checked(held, columns, elsewhere=elsewhere)
    assert not findings
    assert list(table.columns) == ["swelling"]
    assert list(table["swelling"].present) == [True, False]


def test_double_and_nameless_columns_are_said(held: Dictionary) -> None:
    table = RawTable("children", ("key", "count", "", "count"), (("k1", 1, "x", 2),), 1, (2,))
    held_table, findings = cases.check(table, held)
    assert sorted(told(findings)) == [("duplicate_column", None, "count"), ("nameless_column", None, "")]
    assert held_table["count"].values[0] == 1.0


def test_a_column_of_a_long_table_does_not_belong_to_a_child(held: Dictionary) -> None:
    table, (finding,) = checked(held, {"key": ["k1"], "screw_mm": ["3.5"]})
    assert (finding.rule, finding.severity) == ("other_table", Severity.WARNING)
    assert "the table screws" in finding.accepted
    assert list(table.columns) == []


def test_a_needed_column_that_is_absent_is_an_error_and_missing_throughout(held: Dictionary) -> None:
    table, (finding,) = checked(held, {"key": ["k1"]}, needed=("key", "length_mm"))
    assert told([finding]) == [("needed_column", None, "length_mm")]
    assert finding.severity is Severity.ERROR
    assert table["length_mm"].missing.all()


def test_a_needed_key_that_is_absent_is_an_error(held: Dictionary) -> None:
    _, findings = checked(held, {"count": [1]}, needed=("key",))
    assert told(findings) == [("needed_column", None, "key")]


def test_a_needed_time_may_be_a_date(held: Dictionary) -> None:
    _, (finding,) = checked(held, {"key": ["k1"]}, needed=("last_scan_months",))
    assert finding.accepted == "a column last_scan_months, or last_scan_date in its place"


def test_what_follows_from_other_columns_need_not_be_there(held: Dictionary) -> None:
    columns = {
        "key": ["k1"],
        "fruit": ["lemon"],
        "operation_date": ["2020-01-31"],
        "broken": ["no"],
        "loose": ["no"],
        "other_end": ["none"],
        "last_scan_months": ["24"],
    }
    needed = ("family", "operation_year", "failure", "death")
    table, findings = checked(held, columns, needed=needed)
    assert not findings
    assert [table[name].values[0] for name in needed] == [0.0, 2020.0, 0.0, 0.0]


def test_a_header_without_rows_is_refused(held: Dictionary) -> None:
    _, findings = cases.check(RawTable("children", ("key",), (), 1, ()), held)
    assert told(findings) == [("no_rows", None, "")]


def test_everything_is_said_at_once_columns_first_then_by_row(held: Dictionary) -> None:
    columns = {
        "key": ["k1", "k1", "k3"],
        "surname": ["x", "y", "z"],
        "count": ["1", "two", "99"],
        "fruit": ["apple", "", "plum"],
        "family": ["rue", "rue", ""],
        "failure": ["yes", "no", ""],
    }
    _, findings = checked(held, columns, needed=("length_mm",))
    assert told(findings) == [
        ("identifier_column", None, "surname"),
        ("needed_column", None, "length_mm"),
        ("group_disagrees", 2, "family"),
        ("time_missing", 2, "failure_months"),
        ("duplicate_key", 3, "key"),
        ("not_a_number", 3, "count"),
        ("outside_hard", 4, "count"),
        ("unknown_level", 4, "fruit"),
    ]
    with pytest.raises(CasesRefused) as refused:
        refuse_errors(findings, CasesRefused)
    assert len(str(refused.value).splitlines()) == len(findings)


def test_the_arrays_behind_the_door_cannot_be_changed(held: Dictionary) -> None:
    table, _ = checked(held, {"key": ["k1"], "count": [1]})
    with pytest.raises(ValueError, match="read-only"):
        table["count"].values[0] = 2.0


def test_row_order_does_not_matter(held: Dictionary) -> None:
    columns = {"key": ["k1", "k2", "k3"], "count": ["1", "", "3"], "fruit": ["pear", "lemon", ""]}
    table, _ = cases.check(raw(columns), held)
    turned, _ = cases.check(raw({name: cells[::-1] for name, cells in columns.items()}), held)
    back = turned.take(np.array([2, 1, 0]))
    assert back.keys == table.keys
    for name in table.columns:
        np.testing.assert_array_equal(back[name].values, table[name].values)
        np.testing.assert_array_equal(back[name].states, table[name].states)


def test_missing_columns_can_be_added(held: Dictionary) -> None:
    table, _ = checked(held, {"key": ["k1"], "count": [1]})
    more = cases.with_missing(table, ["count", "length_mm"])
    assert more["count"].values[0] == 1.0
    assert more["length_mm"].missing.all()
