"""The plain cohort as a registry that has grown for years: one workbook, one row per operation."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from synthetic_cohort import codes, messy, writing
from synthetic_cohort.children import Body
from synthetic_cohort.messy import Cell, Choose
from synthetic_cohort.recording import Table

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

SHEET: Final = "Registry"
TITLES: Final = ("CVJ registry (INVENTED DATA: no real child is in it)", "last row copied by hand, see notes")
GROUPS: Final = {
    "Child": ("Case no", "Unit", "DOB", "Age", "Sex", "Dx", "Prev ops"),
    "Findings": ("Why", "Nurick", "Reducible", "ADI", "SAC", "C1", "VA"),
    "Operation": ("Op type", "Date", "Levels", "Construct", "Anchors", "Graft", "Decompression", "Brace"),
    "Follow-up": ("Failed?", "Failed on", "Revised?", "End", "End on", "Last CT/film", "Last seen", "Notes"),
}
COLUMNS: Final = tuple(name for names in GROUPS.values() for name in names)
HEADER_ROWS: Final = (3, 4)
FIRST_ROW: Final = 5
NOTES: Final = (None, None, None, "pls ask the consultant", "see letter of 3/4", "parents phoned", "CT in other file")

Row = dict[str, Cell]


def write(rng: np.random.Generator, table: Table, body: Body, path: Path) -> None:
    """Write the registry: titles, two header rows, merged units, hidden rows, a total, and a sheet of notes."""
    from openpyxl import Workbook  # a training dependency, needed here only

    book = Workbook()
    book.remove(book.worksheets[0])
    sheet = book.create_sheet(SHEET)
    held = list(rows(rng, table, body))
    _head(sheet)
    for place, row in enumerate(held, FIRST_ROW):
        for column, name in enumerate(COLUMNS, 1):
            sheet.cell(place, column, row.get(name))
    _dress(sheet, held)
    notes = book.create_sheet("read me")
    notes.append(["copied from the old file; colours mean nothing any more"])
    writing.save(book, path)


def _head(sheet: "Worksheet") -> None:
    for row, title in enumerate(TITLES, 1):
        sheet.cell(row, 1, title)
    start = 1
    for group, names in GROUPS.items():
        sheet.cell(HEADER_ROWS[0], start, group)
        sheet.merge_cells(
            start_row=HEADER_ROWS[0], end_row=HEADER_ROWS[0], start_column=start, end_column=start + len(names) - 1
        )
        for shift, name in enumerate(names):
            sheet.cell(HEADER_ROWS[1], start + shift, name)
        start += len(names)


def _dress(sheet: "Worksheet", held: list[Row]) -> None:
    """Merge the units down, hide a few rows and a column, and add up at the bottom."""
    unit, last = COLUMNS.index("Unit") + 1, FIRST_ROW + len(held) - 1
    start = FIRST_ROW
    for row in range(FIRST_ROW, last + 1):
        if row == last or held[row - FIRST_ROW + 1]["Unit"] != held[start - FIRST_ROW]["Unit"]:
            sheet.merge_cells(start_row=start, end_row=row, start_column=unit, end_column=unit)
            start = row + 1
    for row in range(FIRST_ROW + 3, last, 97):
        sheet.row_dimensions[row].hidden = True
    sheet.column_dimensions["AD"].hidden = True
    sheet.cell(last + 2, 1, "Total")
    sheet.cell(last + 2, 2, len(held))


def rows(rng: np.random.Generator, table: Table, body: Body) -> Iterator[Row]:
    """Every row under the header: each child's operation, then its revision if there was one."""

    def choose(options: int) -> int:
        return int(rng.integers(options))

    for place in range(len(table["case_id"])):
        child = {name: column[place] for name, column in table.items()}
        operated = messy.operation_day(int(body.year[place]), float(body.year_part[place]))
        first = _index(choose, child, operated)
        first["Unit"] = codes.centre_name(int(body.centre[place]))
        yield first
        if child["revision"] == "yes":
            later = messy.months_later(operated, child["revision_months"])
            kind = ("revision", "Revision", "redo")[choose(3)]
            yield {
                "Case no": child["case_id"],
                "Unit": first["Unit"],
                "Op type": kind,
                "Date": messy.day(choose, later),
            }


def _index(choose: Choose, child: dict[str, str], operated: date) -> Row:
    return {
        "Case no": child["case_id"],
        **_person(choose, child, operated),
        **_findings(choose, child),
        **_operation(choose, child, operated),
        **_follow_up(choose, child, operated),
        "Notes": NOTES[choose(len(NOTES))],
    }


def _person(choose: Choose, child: dict[str, str], operated: date) -> Row:
    born = choose(2) == 0
    return {
        "DOB": messy.day(choose, messy.birthday(operated, child["age_years"])) if born else None,
        "Age": None if born else messy.age(choose, child["age_years"]),
        "Sex": messy.spelt(choose, "sex", child["sex"]),
        "Dx": messy.spelt(choose, "condition", child["condition"]),
        "Prev ops": _word(choose, "prior_cvj_surgery", child["prior_cvj_surgery"]),
    }


def _findings(choose: Choose, child: dict[str, str]) -> Row:
    return {
        "Why": _word(choose, "indication", child["indication"]),
        "Nurick": _word(choose, "nurick_grade", child["nurick_grade"]),
        "Reducible": _word(choose, "reduces", child["reduces"]),
        "ADI": _measure(choose, child["adi_mm"]),
        "SAC": _measure(choose, child["padi_mm"]),
        "C1": _word(choose, "atlas_ring", child["atlas_ring"]),
        "VA": messy.sides(choose, child["artery_right"], child["artery_left"]),
    }


def _operation(choose: Choose, child: dict[str, str], operated: date) -> Row:
    removed = child["planned_decompression"]
    return {
        "Op type": (None, "primary", "index")[choose(3)],
        "Date": messy.day(choose, operated),
        "Levels": messy.span(choose, child["upper_level"], child["lower_level"]),
        "Construct": messy.spelt(choose, "construct_kind", child["construct_kind"]),
        "Anchors": child["weaker_end_anchors"] or _empty(choose),
        "Graft": _word(choose, "graft_kind", child["graft_kind"]),
        "Decompression": messy.sites(choose, removed) if removed else _empty(choose),
        "Brace": _word(choose, "planned_support", child["planned_support"]),
    }


def _follow_up(choose: Choose, child: dict[str, str], operated: date) -> Row:
    def on(name: str) -> Cell:
        months = child[f"{name}_months"]
        return messy.day(choose, messy.months_later(operated, months)) if months else None

    asked = child["revision"] == "unknown"
    return {
        "Failed?": messy.spelt(choose, "fixation_failure", child["fixation_failure"]),
        "Failed on": on("fixation_failure"),
        "Revised?": messy.spelt(choose, "revision", "unknown") if asked else None,
        "End": messy.spelt(choose, "other_end", child["other_end"]),
        "End on": on("other_end"),
        "Last CT/film": on("last_scan"),
        "Last seen": on("last_contact"),
    }


def _word(choose: Choose, name: str, text: str) -> Cell:
    """A level or a count in the registry's words; an empty word for nothing."""
    if not text:
        return _empty(choose)
    return int(text) if text.isdigit() and choose(2) else messy.spelt(choose, name, text)


def _measure(choose: Choose, text: str) -> Cell:
    if text == "not_measurable":
        return ("n/m", "cannot be measured")[choose(2)]
    return messy.number(choose, text, "mm") if text else _empty(choose)


def _empty(choose: Choose) -> Cell:
    return messy.EMPTY_WORDS[choose(len(messy.EMPTY_WORDS))]
