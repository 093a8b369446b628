"""A workbook, with what the runtime's plain reader leaves out: merged and hidden cells, formats, broken formulas."""

import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType

import openpyxl
from openpyxl.cell.cell import Cell as BookCell
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from training.registry.cells import ERROR_WORDS, NOT_COMPUTED, Broken, RegistryCell
from training.registry.sheets import Lost, Registry, Sheet

_ZEROS = re.compile("0{2,}")

Places = frozenset[tuple[int, int]]


def read_workbook(path: Path) -> Registry:
    """Every sheet of an xlsx file that the runtime's reader has already looked over.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError, IndexError
        When a part of the workbook is written in a way that the library does not understand.
    """
    values = _load(path, values=True)
    formulas = _load(path, values=False) if _has_formulas(path) else None
    sheets = {
        sheet.title: _sheet(sheet, _formula_cells(formulas, sheet.title) if formulas else frozenset())
        for sheet in values.worksheets
    }
    base = 1904 if values.epoch == CALENDAR_MAC_1904 else 1900
    return Registry(path.name, MappingProxyType(sheets), base)


def _load(path: Path, *, values: bool) -> Workbook:
    with warnings.catch_warnings(), path.open("rb") as stream:  # the library speaks of extensions that it leaves out
        warnings.simplefilter("ignore")
        return openpyxl.load_workbook(stream, data_only=values)


def _has_formulas(path: Path) -> bool:
    with zipfile.ZipFile(path) as archive:
        parts = [name for name in archive.namelist() if "worksheets/" in name]
        return any(re.search(rb"<(?:\w+:)?f[ >/]", archive.read(part)) for part in parts)


def _formula_cells(book: Workbook, name: str) -> Places:
    return frozenset((cell.row, cell.column) for cell in _cells(book[name]) if cell.data_type == "f")


def _cells(sheet: Worksheet) -> Iterator[BookCell]:
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell, BookCell):  # the covered part of a merged block is a cell of another class
                yield cell


def _sheet(sheet: Worksheet, formulas: Places) -> Sheet:
    filled = {(cell.row, cell.column): _value(cell, formulas) for cell in _cells(sheet)}
    depth = max((row for (row, _), value in filled.items() if value is not None), default=0)
    width = max((column for (_, column), value in filled.items() if value is not None), default=0)
    rows = tuple(tuple(filled.get((row, column)) for column in range(1, width + 1)) for row in range(1, depth + 1))
    merged = tuple((block.min_row, block.max_row, block.min_col, block.max_col) for block in sheet.merged_cells.ranges)
    return Sheet(sheet.title, rows, tuple(sorted(merged)), _lost(sheet, depth, width), sheet.sheet_state != "visible")


def _value(cell: BookCell, formulas: Places) -> RegistryCell:
    value = cell.value
    if value is None:
        uncomputed = (cell.row, cell.column) in formulas and cell.data_type != "str"  # "str": a formula that gave ""
        return NOT_COMPUTED if uncomputed else None
    if cell.data_type == "e" or (isinstance(value, str) and value.strip() in ERROR_WORDS):
        return Broken(str(value).strip())
    if isinstance(value, int) and not isinstance(value, bool) and _ZEROS.fullmatch(cell.number_format):
        return str(value).zfill(len(cell.number_format))
    if isinstance(value, datetime) and value.time() == datetime.min.time():
        return value.date()
    return value if isinstance(value, str | int | float | bool | date) else str(value)


def _lost(sheet: Worksheet, depth: int, width: int) -> Lost:
    cells = [cell for cell in _cells(sheet) if cell.row <= depth and cell.column <= width]
    return Lost(
        hidden_rows=sum(held.hidden for number, held in sheet.row_dimensions.items() if number <= depth),
        hidden_columns=_hidden_columns(sheet, width),
        filtered=sheet.auto_filter.ref is not None,
        comments=sum(cell.comment is not None for cell in cells),
        coloured=sum(cell.has_style and cell.fill.fill_type is not None for cell in cells),
    )


def _hidden_columns(sheet: Worksheet, width: int) -> int:
    hidden = [held for held in sheet.column_dimensions.values() if held.hidden]
    return sum(min(held.max or 0, width) - (held.min or 1) + 1 for held in hidden if (held.min or 1) <= width)
