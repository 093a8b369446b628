"""Dates of birth and written ages."""

from datetime import datetime
from pathlib import Path

import pytest

from tests.training.registry.build import column, one, refused, rules, tidied
from training.registry.mapping.model import NumberRule
from training.registry.reading.ages import read_age
from training.registry.reading.doubt import Doubt
from training.registry.tidying import write

AGE = """
[sheet.column."Age"]
to = "age_years"
reads = "age"
"""
BORN = """
[sheet.column."DOB"]
to = "age_years"
reads = "birth_date"
order = "day_first"
"""


@pytest.mark.parametrize(
    ("written", "months"),
    [
        ("4y7m", 55),
        ("4+7", 55),
        ("4 7/12", 55),
        ("55m", 55),
        ("4 years 7 months", 55),
        ("7/12", 7),
        ("4.5", 54),
        ("4y", 48),
    ],
)
def test_one_age_in_every_spelling(written: str, months: int) -> None:
    assert read_age(written, NumberRule(), "years").value == pytest.approx(months / 12)


@pytest.mark.parametrize("written", ["4y13m", "4+12", "four", "4-7"])
def test_what_is_no_age_is_refused(written: str) -> None:
    with pytest.raises(Doubt):
        read_age(written, NumberRule(), "years")


def test_ages_reach_the_cohort_in_years(tmp_path: Path) -> None:
    headers, rows = one("Age", ["4y6m", "54m", 4.5])
    assert column(tidied(tmp_path, headers, rows, AGE), "age_years") == ["4.5", "4.5", "4.5"]


def test_the_age_comes_from_the_birth_and_the_birth_goes_nowhere(tmp_path: Path) -> None:
    born = [datetime(2010, 10, 3), "3/10/2010"]
    headers, rows = one("DOB", born)
    held = tidied(tmp_path, headers, rows, BORN)
    assert column(held, "age_years") == ["8.5", "8.5"]
    write(held, tmp_path / "cohort", tmp_path / "changes.csv")
    written = (tmp_path / "cohort" / "children.csv").read_text() + (tmp_path / "changes.csv").read_text()
    assert "2010" not in written
    assert "(not shown)" in written


@pytest.mark.parametrize("cell", ["3/10/2021", "31/2/2010", "about 2010", "3/10/2040"])
def test_a_birth_that_cannot_be_is_found_and_not_shown(tmp_path: Path, cell: str) -> None:
    headers, rows = one("DOB", [cell])
    (finding,) = refused(tmp_path, headers, rows, BORN)
    assert (finding.row, finding.column, finding.found) == (2, "DOB", "(not shown)")
    assert cell not in str(finding)


def test_an_age_that_contradicts_the_birth_is_found(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "3/10/2010", "8"), ("A-2", "2019-04-03", "3/10/2010", "9.6")]
    findings = refused(tmp_path, ("DOB", "Age"), rows, BORN + AGE)
    assert rules(findings) == ["two_ages"]
    assert (findings[0].row, findings[0].found) == (3, "9.6 years, but 8.5 from the date of birth")


def test_an_age_that_became_a_date_is_read_as_it_was_typed(tmp_path: Path) -> None:
    headers, rows = one("Age", [datetime(2024, 12, 7)])  # 7/12, typed day first
    assert rules(refused(tmp_path, headers, rows, AGE)) == ["turned_into_date"]
    assert column(tidied(tmp_path, headers, rows, AGE + 'turned_dates = "day_first"'), "age_years")[0].startswith(
        "0.58"
    )
