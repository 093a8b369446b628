"""The plain cohort written as a messy registry, and got back by `map` and `tidy`."""

import re
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from riskmodel import dictionary
from synthetic_cohort import cohort, messy, messy_workbook, registry
from synthetic_cohort.__main__ import main
from synthetic_cohort.cohort import Recipe
from training.registry import files
from training.registry.mapping import read
from training.registry.tidying.run import tidy

CHILDREN = 150
MAP = Path(__file__).parent / "registry_map.toml"
READ_ON = date(2026, 2, 1)


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("registry") / "registry.xlsx"
    result = CliRunner().invoke(main, ["--scenario", "dirty", "--children", str(CHILDREN), "--out", str(path)])
    assert result.exit_code == 0, result.output
    return path


@pytest.fixture(scope="module")
def sheet(workbook: Path) -> Worksheet:
    held = load_workbook(workbook)[messy_workbook.SHEET]
    assert isinstance(held, Worksheet)
    return held


def same(clean: str, got: object, *, months: bool) -> bool:
    """Equal as text, or as numbers; months are counted in whole days, so to a tenth."""
    try:
        wanted, found = float(clean), float(str(got))
    except ValueError:
        return clean == str(got)
    return round(found, 1) == wanted if months else found == wanted


def test_map_and_tidy_give_the_clean_cohort_back_cell_by_cell(workbook: Path) -> None:
    recipe = Recipe(children=CHILDREN)
    clean = registry.write_down(cohort.make(recipe), recipe)["children"]
    tidied = tidy(files.read(workbook), read(MAP), dictionary.read("cvj"), on=READ_ON).tables["children"]
    assert sorted(tidied.header) == sorted(clean)
    assert len(tidied.rows) == CHILDREN
    for name, wanted in clean.items():
        got = [row[tidied.header.index(name)] for row in tidied.rows]
        wrong = [
            (key, text, cell)
            for key, text, cell in zip(clean["case_id"], wanted, got, strict=True)
            if not same(text, "" if cell is None else cell, months=name.endswith("_months"))
        ]
        assert not wrong, f"{name}: {wrong[:3]}"


def column(sheet: Worksheet, name: str) -> list[object]:
    place = messy_workbook.COLUMNS.index(name) + 1
    return [sheet.cell(row, place).value for row in range(messy_workbook.FIRST_ROW, sheet.max_row + 1)]


def texts(sheet: Worksheet, name: str) -> list[str]:
    return [cell for cell in column(sheet, name) if isinstance(cell, str)]


def some(pattern: str, cells: list[str]) -> bool:
    return any(re.search(pattern, cell) for cell in cells)


FAMILIES: dict[str, Callable[[Worksheet], bool]] = {
    "dates as ISO text": lambda s: some(r"^\d{4}-\d\d-\d\d$", texts(s, "Last seen")),
    "dates day first": lambda s: some(r"^\d{1,2}/\d{1,2}/\d{4}$", texts(s, "Last seen")),
    "dates as day numbers": lambda s: any(isinstance(cell, int) and cell > 30_000 for cell in column(s, "Date")),
    "dates of birth in place of ages": lambda s: any(column(s, "DOB")) and not all(column(s, "Age")),
    "ages in years and months": lambda s: some(r"^\d+(y\d+m|\+\d+| \d+/12)$", texts(s, "Age")),
    "titles and two header rows": lambda s: (
        s.cell(1, 1).value == messy_workbook.TITLES[0] and s.cell(3, 1).value == "Child"
    ),
    "merged cells": lambda s: any(block.min_row >= messy_workbook.FIRST_ROW for block in s.merged_cells.ranges),
    "hidden rows": lambda s: any(held.hidden for held in s.row_dimensions.values()),
    "a total at the bottom": lambda s: s.cell(s.max_row, 1).value == "Total",
    "levels turned into dates": lambda s: any(isinstance(cell, datetime) for cell in column(s, "Levels")),
    "decimal commas": lambda s: some(r"^\d+,\d$", texts(s, "ADI")),
    "hard blanks and units": lambda s: some("\u00a0mm", texts(s, "SAC")) and some("cm$", texts(s, "SAC")),
    "empty words": lambda s: (
        "NR" in texts(s, "Graft") + texts(s, "C1") and "n/k" in texts(s, "SAC") + texts(s, "Brace")
    ),
    "two sides in one cell": lambda s: some("^R .*, L ", texts(s, "VA")) and some("^bilat", texts(s, "VA")),
    "free-text conditions": lambda s: "T21" in texts(s, "Dx") and "MPS 4A" in texts(s, "Dx"),
    "spellings of levels": lambda s: some("^C0", texts(s, "Levels")) and some("\u2013", texts(s, "Levels")),
    "revisions as further rows": lambda s: len(set(texts(s, "Case no"))) < len(texts(s, "Case no")),
    "yes and no in many ways": lambda s: {"Y", "N", "0", "✓"} <= set(texts(s, "Failed?")),
    "several sites in one cell": lambda s: some(r" \+ ", texts(s, "Decompression")),
    "free text about people": lambda s: "pls ask the consultant" in texts(s, "Notes"),
}


@pytest.mark.parametrize("family", FAMILIES)
def test_the_registry_is_dirty_in_this_way(sheet: Worksheet, family: str) -> None:
    assert FAMILIES[family](sheet)


def test_the_registry_says_that_it_is_invented(sheet: Worksheet) -> None:
    assert "no real child" in str(sheet.cell(1, 1).value)


@pytest.mark.parametrize("months", ["0.1", "1.5", "12.0", "23.3", "47.9", "119.9"])
def test_months_survive_being_written_as_a_date(months: str) -> None:
    for start in (date(2016, 1, 31), date(2019, 2, 28), date(2020, 2, 29), date(2021, 12, 30)):
        later = messy.months_later(start, months)
        assert round(messy.calendar_months(start, later), 1) == float(months)


def test_the_same_seed_gives_the_same_workbook(workbook: Path, tmp_path: Path) -> None:
    again = tmp_path / "again.xlsx"
    CliRunner().invoke(main, ["--scenario", "dirty", "--children", str(CHILDREN), "--out", str(again)])
    assert again.read_bytes() == workbook.read_bytes()
