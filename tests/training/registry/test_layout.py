"""Title rows, two header rows, merged and hidden cells, totals, empty tails, several sheets, broken formulas."""

import re
import zipfile
from pathlib import Path

import pytest
from openpyxl.comments import Comment
from openpyxl.styles import PatternFill
from openpyxl.workbook.workbook import Workbook

from riskmodel.errors import Refused
from tests.training.registry.build import ON, book, column, cvj, map_of, one, one_sheet, refused, rules, tidied
from training.registry import files
from training.registry.tidying import tidy

ADI = """
[sheet.column."ADI"]
to = "adi_mm"
"""
TWO_ROWS = """
[sheet.column."No"]
to = "case_id"
[sheet.column."Op"]
to = "operation_date"
[sheet.column."CT / ADI"]
to = "adi_mm"
[sheet.column."CT / PADI"]
to = "padi_mm"
"""


def test_title_rows_and_two_header_rows_with_a_merged_head(tmp_path: Path) -> None:
    def merge(held: Workbook) -> None:
        held["Registry"].merge_cells("C2:D2")

    rows = [
        ("Registry of the unit",),
        ("No", "Op", "CT", None),
        (None, None, "ADI", "PADI"),
        ("A-1", "2019-04-03", 4, 12),
    ]
    path = book(tmp_path / "registry.xlsx", {"Registry": rows}, merge)
    held = tidy(files.read(path), map_of(tmp_path, one_sheet(TWO_ROWS, "header_rows = [2, 3]")), cvj(), on=ON)
    assert (column(held, "adi_mm"), column(held, "padi_mm")) == (["4"], ["12"])


def test_merged_values_are_filled_only_if_the_map_says_so(tmp_path: Path) -> None:
    def merge(held: Workbook) -> None:
        held["Registry"].merge_cells("C2:C3")

    headers, rows = one("ADI", [4, None])
    (finding,) = refused(tmp_path, headers, rows, ADI, edit=merge)
    assert (finding.rule, finding.row, finding.column) == ("merged", 2, "ADI")
    assert finding.found.startswith("merged cells C2:C3")
    held = tidied(tmp_path, headers, rows, ADI, sheet='fill_merged = ["ADI"]', edit=merge)
    assert column(held, "adi_mm") == ["4", "4"]


def test_hidden_rows_and_columns_are_read_and_counted(tmp_path: Path) -> None:
    def hide(held: Workbook) -> None:
        sheet = held["Registry"]
        sheet.row_dimensions[3].hidden = True
        sheet.column_dimensions["C"].hidden = True
        sheet.auto_filter.ref = "A1:C3"
        sheet["C2"].comment = Comment("measured twice", "a reader")
        sheet["C3"].fill = PatternFill("solid", fgColor="FFFF00")

    headers, rows = one("ADI", [4, 5])
    held = tidied(tmp_path, headers, rows, ADI, edit=hide)
    assert column(held, "adi_mm") == ["4", "5"]
    said = {finding.rule: finding.found for finding in held.findings}
    assert said["hidden"] == "1 hidden rows, 1 hidden columns, a filter"
    assert said["comments_colours"] == "1 comments and 1 coloured cells"
    assert "measured twice" not in str(held)


def test_totals_and_the_empty_tail_are_no_children(tmp_path: Path) -> None:
    headers, rows = one("ADI", [4, 5])
    rows = [*rows, (None, None, None), ("Total", None, 9), (None, None, "  "), (None, None, None)]
    assert "not_a_date" not in rules(refused(tmp_path, headers, rows, ADI, sheet='empty = { "9" = "missing" }'))
    held = tidied(tmp_path, headers, rows, ADI, sheet='skip_words = ["total"]')
    assert column(held, "case_id") == ["A-1", "A-2"]
    assert [(change.row, change.rule) for change in held.changes if change.rule == "row left out"] == [
        (5, "row left out")
    ]
    assert column(tidied(tmp_path, headers, rows, ADI, sheet="last_row = 3"), "case_id") == ["A-1", "A-2"]


def test_a_row_with_values_and_no_key_is_found(tmp_path: Path) -> None:
    headers, rows = one("ADI", [4])
    (finding,) = refused(tmp_path, headers, [*rows, (None, None, 6)], ADI)
    assert (finding.rule, finding.row) == ("no_key", 3)


def test_broken_formulas_are_found_and_may_be_called_missing(tmp_path: Path) -> None:
    headers, rows = one("ADI", ["#REF!", "#DIV/0!", 4])
    assert rules(refused(tmp_path, headers, rows, ADI)) == ["broken_formula", "broken_formula"]
    words = ADI + '[sheet.column."ADI".empty]\n"#REF!" = "missing"\n"#DIV/0!" = "not_measurable"\n'
    assert column(tidied(tmp_path, headers, rows, words), "adi_mm") == ["", "not_measurable", "4"]


def _with_cached(path: Path, cell: str) -> None:
    """Put a result beside the formula of C2, as a spreadsheet program would have; the library cannot."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    parts[sheet], replaced = re.subn(rb'<c r="C2"[^>]*>.*?</c>', cell.encode(), parts[sheet])
    assert replaced == 1
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


def _formula_registry(folder: Path, cell: str | None) -> Path:
    headers, rows = one("ADI", ["=1+3"])
    path = book(folder / "registry.xlsx", {"Registry": [("No", "Op", *headers), *rows]})
    if cell is not None:
        _with_cached(path, cell)
    return path


MAP = one_sheet('[sheet.column."No"]\nto = "case_id"\n[sheet.column."Op"]\nto = "operation_date"\n' + ADI)


def test_a_formula_is_its_last_result(tmp_path: Path) -> None:
    path = _formula_registry(tmp_path, '<c r="C2"><f>1+3</f><v>4</v></c>')
    assert column(tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON), "adi_mm") == ["4"]


def test_a_cached_error_is_found(tmp_path: Path) -> None:
    path = _formula_registry(tmp_path, '<c r="C2" t="e"><f>1/0</f><v>#DIV/0!</v></c>')
    with pytest.raises(Refused) as caught:
        tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON)
    (finding,) = caught.value.findings
    assert (finding.rule, finding.found) == ("broken_formula", "#DIV/0!")


def test_a_formula_without_a_result_is_not_a_blank(tmp_path: Path) -> None:
    path = _formula_registry(tmp_path, None)
    with pytest.raises(Refused) as caught:
        tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON)
    assert [finding.found for finding in caught.value.findings] == ["a formula that was never computed"]


def test_a_formula_that_gave_nothing_is_a_blank(tmp_path: Path) -> None:
    path = _formula_registry(tmp_path, '<c r="C2" t="str"><f>IF(1,"","")</f><v></v></c>')
    held = tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON)
    assert "adi_mm" not in held.tables["children"].header


FOLLOWED = (
    '[[sheet]]\nname = "Follow-up"\nbecomes = "children"\nrows = "further_columns"\n'
    '[sheet.column."No"]\nto = "case_id"\n[sheet.column."Seen"]\nto = "last_contact_date"\n'
)


def test_sheets_of_the_same_children_are_joined_by_key(tmp_path: Path) -> None:
    headers, rows = one("ADI", [4, 5])
    followed = [("No", "Seen"), ("A-2", "2021-04-03")]
    path = book(tmp_path / "registry.xlsx", {"Registry": [("No", "Op", *headers), *rows], "Follow-up": followed})
    held = tidy(files.read(path), map_of(tmp_path, MAP + FOLLOWED), cvj(), on=ON)
    assert column(held, "last_contact_months") == ["", "24"]


def test_a_key_of_nobody_is_found(tmp_path: Path) -> None:
    headers, rows = one("ADI", [4])
    followed = [("No", "Seen"), ("A-9", "2021-04-03")]
    path = book(tmp_path / "registry.xlsx", {"Registry": [("No", "Op", *headers), *rows], "Follow-up": followed})
    with pytest.raises(Refused) as caught:
        tidy(files.read(path), map_of(tmp_path, MAP + FOLLOWED), cvj(), on=ON)
    assert [(f.sheet, f.row, f.rule) for f in caught.value.findings] == [("Follow-up", 2, "unknown_key")]
