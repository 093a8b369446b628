"""Registries as real workbooks, and maps for them, made by the tests."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.workbook import Workbook

from riskmodel import dictionary as dictionaries
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding, Refused
from training.registry import files, mapping
from training.registry.tidying import Tidied, tidy

ON = date(2026, 11, 25)
HEAD = ("No", "Op")
HEAD_MAP = """
[sheet.column."No"]
to = "case_id"
[sheet.column."Op"]
to = "operation_date"
"""

Row = Sequence[object]
Edit = Callable[[Workbook], None]


@cache
def cvj() -> Dictionary:
    """The shipped dictionary."""
    return dictionaries.read("cvj")


def book(path: Path, sheets: Mapping[str, Sequence[Row]], edit: Edit | None = None) -> Path:
    """Write a workbook, cell by cell as given; `edit` may still change it."""
    held = openpyxl.Workbook()
    held.remove(held.worksheets[0])
    for name, rows in sheets.items():
        sheet = held.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    if edit is not None:
        edit(held)
    held.save(path)
    return path


def map_of(folder: Path, text: str) -> mapping.RegistryMap:
    """A map read from its text."""
    path = folder / "map.toml"
    path.write_text(text, encoding="utf-8")
    return mapping.read(path)


def one_sheet(columns: str, sheet: str = "") -> str:
    """A map of one sheet, `Registry`, with its header in the first row."""
    return f'format = 1\ndictionary = "cvj"\n[[sheet]]\nname = "Registry"\nbecomes = "children"\n{sheet}\n{columns}'


def tidied(
    folder: Path,
    headers: Sequence[str],
    rows: Sequence[Row],
    columns: str,
    *,
    sheet: str = "",
    edit: Edit | None = None,
) -> Tidied:
    """What becomes of a sheet with keys, dates of operation and these further columns."""
    path = book(folder / "registry.xlsx", {"Registry": [(*HEAD, *headers), *rows]}, edit)
    return tidy(files.read(path), map_of(folder, one_sheet(HEAD_MAP + columns, sheet)), cvj(), on=ON)


def refused(
    folder: Path,
    headers: Sequence[str],
    rows: Sequence[Row],
    columns: str,
    *,
    sheet: str = "",
    edit: Edit | None = None,
) -> tuple[Finding, ...]:
    """The findings with which such a sheet is refused."""
    with pytest.raises(Refused) as caught:
        tidied(folder, headers, rows, columns, sheet=sheet, edit=edit)
    return caught.value.findings


def column(held: Tidied, name: str, table: str = "children") -> list[str]:
    """The cells of one column of a table, as its file has them."""
    raw = held.tables[table]
    place = raw.header.index(name)
    return [str(cell).removesuffix(".0") if isinstance(cell, float) else str(cell) for cell in raw.column(place)]


def rules(findings: Sequence[Finding]) -> list[str]:
    """The names of the checks that found something."""
    return [finding.rule for finding in findings]


def one(headers: str, cells: Sequence[object], day: object = "2019-04-03") -> tuple[tuple[str, ...], list[Row]]:
    """A single further column, with one child per cell."""
    return (headers,), [(f"A-{number}", day, cell) for number, cell in enumerate(cells, start=1)]
