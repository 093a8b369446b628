"""Nothing that points at a person gets in, and nothing that points at a person is repeated."""

from datetime import date

import pytest

from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Severity
from riskmodel.tables import Cell
from tests.riskmodel.cases.builders import checked, told

# Invented; the telephone numbers lie in ranges kept free for examples (Ofcom; North American plan 555-01xx), the
# ten-digit number is the worked example of the NHS data dictionary, the addresses use reserved domains (RFC 2606).
PERSONAL = {
    "jane.smith@example.org": "an e-mail address",
    "+44 20 7946 0018": "a telephone, hospital or national number",
    "(202) 555-0143": "a telephone, hospital or national number",
    "943 476 5919": "a telephone, hospital or national number",
    "12345678": "a telephone, hospital or national number",
}
NAMES = ["Smith, Jane", "Jane Smith", "SMITH JANE", "Jane", "Jean-Luc Ó Riain", "smith_JANE_Ann".title()]


@pytest.mark.parametrize("name", ["Surname", "DOB", "e-mail", "hospital no", "Address"])
def test_a_column_is_refused_by_its_name(name: str, held: Dictionary) -> None:
    _, (finding,) = checked(held, {"key": ["k1"], name: [""]})
    assert (finding.rule, finding.severity, finding.column) == ("identifier_column", Severity.ERROR, name)


@pytest.mark.parametrize("text", PERSONAL)
@pytest.mark.parametrize("column", ["key", "unit", "remarks"])
def test_a_cell_is_refused_by_what_it_looks_like_and_not_repeated(text: str, column: str, held: Dictionary) -> None:
    cells: dict[str, list[Cell]] = {"key": ["k1", "k2", "k3"], column: ["x1", text, f" {text}; x"]}
    _, findings = checked(held, cells)
    errors = [finding for finding in findings if finding.severity is Severity.ERROR]
    assert ("identifier_content", 3, column) in told(errors)
    assert all(PERSONAL[text] in str(error) for error in errors)
    assert not any(text in str(finding) for finding in findings)


@pytest.mark.parametrize("text", NAMES)
def test_a_name_as_a_key_is_refused_and_not_repeated(text: str, held: Dictionary) -> None:
    _, (finding,) = checked(held, {"key": ["TW-001", text]})
    assert told([finding]) == [("identifier_content", 3, "key")]
    assert "a person's name" in finding.found
    assert text not in str(finding)


@pytest.mark.parametrize("text", ["TW-204", "a3f9c2e1", "12", "CM-031b", "1234567", "x", "TW/2019/04", "0007-A"])
def test_a_plain_code_is_a_fine_key(text: str, held: Dictionary) -> None:
    _, findings = checked(held, {"key": [text]})
    assert not findings


@pytest.mark.parametrize("cell", ["2014-05-06", "6.5.2014", "06/05/14", date(2014, 5, 6)])
def test_a_date_as_a_key_is_refused(cell: Cell, held: Dictionary) -> None:
    _, (finding,) = checked(held, {"key": [cell]})
    assert "looks like a date" in finding.found
    assert "2014" not in str(finding)


def test_many_cells_of_one_kind_are_counted_in_one_finding(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1", "k2"], "remarks": ["a@example.org", "b@example.org"]})
    (finding,) = [finding for finding in findings if finding.severity is Severity.ERROR]
    assert (finding.row, finding.found) == (
        2,
        "a cell that looks like an e-mail address (2 such cells in this column)",
    )


def test_an_identifier_typed_into_a_number_is_not_repeated(held: Dictionary) -> None:
    _, (finding,) = checked(held, {"key": ["k1"], "length_mm": ["call 020 7946 0018"]})
    assert finding.rule == "not_a_number"
    assert "7946" not in str(finding)


def test_a_long_text_is_cut_when_it_is_shown(held: Dictionary) -> None:
    _, (finding,) = checked(held, {"key": ["k1"], "length_mm": ["x" * 500]})
    assert len(finding.found) == 60


OPERATED: list[Cell] = ["2020-03-01", "2021-06-15", "2019-11-30"]


@pytest.mark.parametrize(
    ("dates", "refused"),
    [
        (["2012-03-01", "2010-01-15", "2016-11-30"], True),  # years before the operation
        (["2020-02-20", "2021-06-10", "2019-11-01"], False),  # scans before it
        (["2020-05-20", "2021-08-10", "2023-11-01"], False),  # visits after it
        (["x", "y", "2012-03-01"], False),  # not a column of dates
    ],
)
def test_an_unknown_column_of_dates_long_before_is_taken_for_births(
    dates: list[Cell], *, refused: bool, held: Dictionary
) -> None:
    _, findings = checked(held, {"key": ["k1", "k2", "k3"], "operation_date": OPERATED, "day_x": dates})
    rules = [finding.rule for finding in findings]
    assert ("identifier_content" in rules) is refused
    assert "unknown_column" in rules


def test_without_dates_of_operation_no_unknown_dates_pass(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1"], "day_x": ["2020-05-20"]})
    assert "identifier_content" in [finding.rule for finding in findings]


def test_large_measurements_in_an_unknown_column_are_no_identifiers(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1", "k2"], "volume": ["0.123456789", "1234.56789012"]})
    assert [finding.rule for finding in findings] == ["unknown_column"]
