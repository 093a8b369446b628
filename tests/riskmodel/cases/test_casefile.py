"""One child, typed or from a file: a checked table of one row, or everything that is wrong with it."""

from datetime import date
from pathlib import Path

import pytest

from riskmodel import cases
from riskmodel.cases.header import Elsewhere
from riskmodel.cases.table import State
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import CasesRefused, Severity

FILE = """
format = 1
case_id = "TW-204"
[values]
length_mm = "not_measurable"
count = 3
smokes = true
sites = "a+b"
fruit = "pear"
last_scan_months = 12.5
"""


def _file(folder: Path, text: str) -> Path:
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_case_file_is_one_checked_row(held: Dictionary, tmp_path: Path) -> None:
    table = cases.from_case_file(_file(tmp_path, FILE), held)
    assert table.keys == ("TW-204",)
    assert table["length_mm"].states[0] == State.NOT_MEASURABLE
    assert [table[name].values[0] for name in ("count", "smokes", "sites", "family")] == [3.0, 1.0, 3.0, 1.0]


def test_a_case_is_also_a_mapping_with_absent_and_empty_values_missing(held: Dictionary) -> None:
    table = cases.from_mapping({"count": "3", "length_mm": None, "fruit": ""}, held, case_id="x1")
    assert table.keys == ("x1",)
    assert table["count"].values[0] == 3.0
    assert table["length_mm"].missing[0]
    assert "smokes" not in table


def test_the_key_may_stand_among_the_values(held: Dictionary) -> None:
    assert cases.from_mapping({"key": "TW-9"}, held).keys == ("TW-9",)


def test_everything_wrong_with_a_case_is_said_at_once_without_row_numbers(held: Dictionary) -> None:
    with pytest.raises(CasesRefused) as refused:
        cases.from_mapping({"count": 2.5, "lenght_mm": 3, "fruit": "plum", "grade": ["low"], "surname": ""}, held)
    found = {(finding.column, finding.rule) for finding in refused.value.findings}
    assert found == {
        ("count", "not_whole"),
        ("lenght_mm", "unknown_column"),
        ("fruit", "unknown_level"),
        ("grade", "not_a_cell"),
        ("surname", "identifier_column"),
    }
    assert all(finding.row is None for finding in refused.value.findings)


def test_a_doubtful_value_passes_and_is_told_on_request(held: Dictionary) -> None:
    assert cases.from_mapping({"length_mm": 20}, held)["length_mm"].values[0] == 20.0
    _, findings = cases.check_mapping({"length_mm": 20}, held)
    assert [(finding.rule, finding.severity.value) for finding in findings] == [("outside_soft", "warning")]


def test_names_known_elsewhere_pass(held: Dictionary) -> None:
    elsewhere = Elsewhere(later=("swelling",), passed_over=("weight",), unknown=Severity.ERROR)
    table, findings = cases.check_mapping({"swelling": "much", "weight": 3}, held, elsewhere=elsewhere)
    assert list(table.columns) == ["swelling"]
    assert findings == ()


def test_dates_become_months_here_too(held: Dictionary) -> None:
    table = cases.from_mapping({"operation_date": date(2020, 1, 15), "last_scan_date": date(2021, 1, 15)}, held)
    assert table["last_scan_months"].values[0] == 12.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1\n[values]\n", "case_id: found nothing"),
        ('format = 2\ncase_id = "x"\n[values]\n', "format = 1"),
        ('format = true\ncase_id = "x"\n[values]\n', "found True; accepted: format = 1"),
        ('format = 1\ncase_id = "x"\n', r"a table \[values\]"),
        ('format = 1\ncase_id = "x"\nage = 3\n[values]\n', "unknown key age"),
        ('format = 1\ncase_id = "Jane Smith"\n[values]\n', "looks like a person's name"),
        ("format = ", "no TOML"),
    ],
)
def test_a_bad_case_file_is_refused_in_words(text: str, words: str, held: Dictionary, tmp_path: Path) -> None:
    with pytest.raises(CasesRefused, match=words):
        cases.from_case_file(_file(tmp_path, text), held)


def test_a_case_file_that_is_not_there_or_not_text_is_refused(held: Dictionary, tmp_path: Path) -> None:
    with pytest.raises(CasesRefused, match="cannot be opened"):
        cases.from_case_file(tmp_path / "no.toml", held)
    path = tmp_path / "latin.toml"
    path.write_bytes(b'case_id = "\xe9"')
    with pytest.raises(CasesRefused, match="not a UTF-8 text"):
        cases.from_case_file(path, held)
    path.write_bytes(b"x = " + b"[" * 5000)
    with pytest.raises(CasesRefused, match=r"no TOML: (?!not a UTF-8 text)"):
        cases.from_case_file(path, held)
    path.write_bytes(b"#" * (2**20 + 1))
    with pytest.raises(CasesRefused, match="at most 1 MiB"):
        cases.from_case_file(path, held)
