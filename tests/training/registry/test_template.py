"""The template workbook: a column for each core variable, a rule for each cell, a guide, and a way back in."""

from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.workbook import Workbook
from openpyxl.worksheet.datavalidation import DataValidation

from riskmodel import tables
from riskmodel.cases import check
from riskmodel.dictionary.export import template_columns
from riskmodel.dictionary.model import Kind
from riskmodel.errors import DocumentRefused
from tests.training.registry.build import cvj
from training.registry.targets import targets
from training.registry.template import template

CHILD: dict[str, str | float] = {
    "case_id": "TW-1", "centre_id": "TW", "operation_date": "2019-04-03", "age_years": 8.5, "sex": "female",
    "condition": "down", "nurick_grade": 1, "adi_mm": "not_measurable",
    "planned_decompression": "foramen_magnum+c1_arch",
    "upper_level": "C1", "lower_level": "C2", "revision": "no", "last_contact_date": "2022-04-03",
}  # fmt: skip


def _book(*more: str) -> Workbook:
    return openpyxl.load_workbook(BytesIO(template(cvj(), more)))


def _rules(book: Workbook, sheet: str) -> dict[str, DataValidation]:
    """The rule of each column, by its header."""
    held = book[sheet]
    return {
        str(held.cell(1, column).value): rule
        for rule in held.data_validations.dataValidation
        for area in rule.sqref.ranges
        for column in range(area.min_col, area.max_col + 1)
    }


def _words(book: Workbook, rule: DataValidation) -> list[str]:
    """The words that a drop-down offers, from the range that it names."""
    sheet, _, cells = str(rule.formula1).partition("!")
    return [str(cell.value) for (cell,) in book[sheet.strip("'")][cells.replace("$", "")]]


def test_the_children_have_the_core_columns_and_nothing_else() -> None:
    book = _book()
    header = [cell.value for cell in book["children"][1]]
    assert header == list(template_columns(cvj()))
    assert len(header) == 30  # the core of the dictionary
    assert book.sheetnames == ["children", "how to fill", "lists"]


def test_every_word_has_its_drop_down() -> None:
    book = _book()
    rules = _rules(book, "children")
    for name, target in targets(cvj()).items():
        if name in rules and not target.dated and target.variable.levels and target.variable.kind is not Kind.FLAGS:
            assert rules[name].type == "list", name
            assert _words(book, rules[name]) == [*target.variable.codes, *target.variable.states], name


def test_every_column_but_texts_and_flags_has_a_rule() -> None:
    rules = _rules(_book(), "children")
    without = [name for name in template_columns(cvj()) if name not in rules]
    known = targets(cvj())
    assert {known[name].variable.kind for name in without} <= {Kind.TEXT, Kind.FLAGS}
    assert rules["operation_date"].type == "date"
    assert rules["adi_mm"].formula1 == 'OR(AND(ISNUMBER(J2),J2>=-3,J2<=30),J2="not_measurable")'
    assert "COUNTIF" in str(rules["case_id"].formula1)
    assert all(rule.errorStyle in (None, "stop") and rule.allow_blank for rule in rules.values())


def test_no_text_is_longer_than_a_spreadsheet_shows() -> None:
    book = _book("sides", "screws")
    for sheet in ("children", "sides", "screws"):
        for rule in _rules(book, sheet).values():
            assert len(rule.prompt or "") <= 255
            assert len(rule.error or "") <= 255
            assert len(rule.promptTitle or "") <= 32
            assert len(str(rule.formula1)) <= 255


def test_the_guide_speaks_of_every_column() -> None:
    book = _book("screws")
    rows = list(book["how to fill"].iter_rows(values_only=True))
    head = next(number for number, row in enumerate(rows) if row[0] == "sheet")
    told = {(row[0], row[1]): row for row in rows[head + 1 :]}
    for sheet in ("children", "screws"):
        assert {(sheet, cell.value) for cell in book[sheet][1]} <= set(told)
    assert told["children", "adi_mm"][3] == "a number from -3 to 30 mm or not_measurable"
    assert "down = Down syndrome" in str(told["children", "condition"][5])
    assert all(row[6] for row in told.values()), "how each is measured"
    assert "does not replace the judgement of the treating team" in "".join(str(row[0]) for row in rows[:head])


def test_an_unknown_table_is_refused_with_those_there_are() -> None:
    with pytest.raises(DocumentRefused, match="no table screw in the dictionary cvj; it has sides, "):
        template(cvj(), ("screw",))


def test_a_filled_template_passes_the_door(tmp_path: Path) -> None:
    book = _book("sides")
    sheet = book["children"]
    for number, name in enumerate(template_columns(cvj()), start=1):
        if name in CHILD:
            sheet.cell(2, number, CHILD[name])
    book.save(tmp_path / "cohort.xlsx")
    (children,) = [held for held in tables.read(tmp_path / "cohort.xlsx") if held.sheet == "children"]
    cases, findings = check(children, cvj())
    assert findings == ()
    assert cases.keys == ("TW-1",)
    assert cases["last_contact_months"].values.tolist() == [36.0]
    assert cases["operation_year"].values.tolist() == [2019.0]
