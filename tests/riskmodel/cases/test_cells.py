"""Each cell is a value, an empty word, or a fault that says what would be accepted."""

from datetime import date, datetime

import numpy as np
import pytest

from riskmodel.cases.cells import accepted, reader
from riskmodel.cases.table import State
from riskmodel.dictionary.model import Dictionary
from riskmodel.tables import Cell
from tests.riskmodel.cases.builders import checked, told

SOUND: list[tuple[str, Cell, float]] = [
    ("length_mm", "4.5", 4.5),
    ("length_mm", " +4.5 ", 4.5),
    ("length_mm", "-2.5", -2.5),
    ("length_mm", ".5", 0.5),
    ("length_mm", "1e1", 10.0),
    ("length_mm", 7, 7.0),
    ("count", "3", 3.0),
    ("count", 3.0, 3.0),
    ("count", "3.0", 3.0),
    ("grade", "low", 0.0),
    ("grade", "high", 2.0),
    ("step", "5", 5.0),
    ("smokes", "yes", 1.0),
    ("smokes", "no", 0.0),
    ("smokes", True, 1.0),
    ("sites", "none", 0.0),
    ("sites", "b", 2.0),
    ("sites", "a+c", 5.0),
    ("sites", "c + a", 5.0),
    ("fruit", "lemon", 2.0),
]


@pytest.mark.parametrize(("name", "cell", "value"), SOUND)
def test_a_sound_cell_is_its_value(name: str, cell: Cell, value: float, held: Dictionary) -> None:
    table, findings = checked(held, {"key": ["k1"], name: [cell]})
    assert not [finding for finding in findings if finding.severity.value == "error"]
    assert table[name].values[0] == value
    assert table[name].states[0] == State.PRESENT


@pytest.mark.parametrize(
    ("name", "cell", "state"),
    [
        ("length_mm", "", State.MISSING),
        ("length_mm", None, State.MISSING),
        ("length_mm", float("nan"), State.MISSING),
        ("length_mm", "not_measurable", State.NOT_MEASURABLE),
        ("grade", "not_tested", State.NOT_TESTED),
        ("smokes", "  ", State.MISSING),
    ],
)
def test_empty_words_are_told_apart(name: str, cell: Cell, state: State, held: Dictionary) -> None:
    table, findings = checked(held, {"key": ["k1"], name: [cell]})
    assert not findings
    assert np.isnan(table[name].values[0])
    assert table[name].states[0] == state


FAULTS: list[tuple[str, Cell, str, str]] = [
    ("length_mm", "four", "not_a_number", "a number from -3 to 30 mm or not_measurable"),
    ("length_mm", "4,5", "not_a_number", "a point, not a comma"),
    ("length_mm", "4.5mm", "not_a_number", "a number from -3 to 30 mm"),
    ("length_mm", "<2", "not_a_number", "mm"),
    ("length_mm", "3-4", "not_a_number", "mm"),
    ("length_mm", "nan", "not_a_number", "mm"),
    ("length_mm", "inf", "not_a_number", "mm"),
    ("length_mm", "1e999", "not_a_number", "mm"),
    ("length_mm", "1_0", "not_a_number", "mm"),
    ("length_mm", "٤", "not_a_number", "mm"),
    ("length_mm", "−2", "not_a_number", "mm"),
    ("length_mm", "99", "outside_hard", "a number from -3 to 30 mm"),
    ("length_mm", "yes", "not_a_number", "mm"),
    ("length_mm", "NA", "not_a_number", "mm"),
    ("length_mm", "not_tested", "state_not_allowed", "not_measurable, or nothing"),
    ("count", "2.5", "not_whole", "a whole number from 0 to 9"),
    ("count", "10", "outside_hard", "a whole number from 0 to 9"),
    ("grade", "1", "unknown_level", "one of low, mid, high"),
    ("grade", "Low", "unknown_level", "one of low, mid, high"),
    ("grade", date(2024, 2, 1), "unknown_level", "one of low, mid, high"),
    ("step", "0", "outside_hard", "a whole number from 1 to 5"),
    ("smokes", "Y", "not_yes_no", "yes or no"),
    ("smokes", "1", "not_yes_no", "yes or no"),
    ("sites", "a+d", "unknown_level", "one of none, a, b, c, several joined by +"),
    ("sites", "a+a", "flag_twice", "each code once"),
    ("sites", "none+a", "unknown_level", "one of none, a, b, c"),
    ("sites", "a,b", "unknown_level", "joined by +"),
    ("fruit", "aple", "unknown_level", "one of apple, pear, lemon"),
    ("operation_date", "3/4/2019", "not_a_date", "a date as YYYY-MM-DD"),
    ("operation_date", "2019-02-30", "not_a_date", "a date as YYYY-MM-DD"),
    ("operation_date", datetime(2019, 2, 3, 12, 30), "not_a_date", "a date as YYYY-MM-DD"),
    ("operation_date", "20190203", "not_a_date", "YYYY-MM-DD"),
]


@pytest.mark.parametrize(("name", "cell", "rule", "words"), FAULTS)
def test_a_bad_cell_is_one_finding_with_what_is_accepted(
    name: str, cell: Cell, rule: str, words: str, held: Dictionary
) -> None:
    table, findings = checked(held, {"key": ["k1", "k2"], name: ["", cell]})
    assert told(findings) == [(rule, 3, name)]
    assert findings[0].severity.value == "error"
    assert words in findings[0].accepted
    if name in table:
        assert table[name].states[1] == State.MISSING


def test_a_doubtful_number_is_kept_and_questioned(held: Dictionary) -> None:
    table, findings = checked(held, {"key": ["k1"], "length_mm": ["20"]})
    (finding,) = findings
    assert (finding.severity.value, finding.found) == ("warning", "20")
    assert finding.accepted == "usually 0 to 15 mm: please confirm"
    assert table["length_mm"].values[0] == 20.0


def test_bounds_themselves_are_inside(held: Dictionary) -> None:
    read = reader(held.variables["length_mm"])
    assert [read(text).rule for text in ("-3", "0", "15", "30")] == ["outside_soft", None, None, "outside_soft"]
    assert read("30.000001").rule == "outside_hard"


def test_many_levels_are_answered_with_the_nearest() -> None:
    from riskmodel import dictionary

    condition = dictionary.read("cvj").variables["condition"]
    assert reader(condition)("osteogenesis imperfecta").accepted.startswith("osteogenesis_imperfecta (the nearest")
    assert accepted(condition) == "one of the 36 codes of condition"


def test_a_bad_value_in_every_row_is_a_finding_for_every_row(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1", "k2", "k3"], "length_mm": ["x", "x", "y"]})
    assert told(findings) == [("not_a_number", row, "length_mm") for row in (2, 3, 4)]
