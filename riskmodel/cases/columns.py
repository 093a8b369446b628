"""Whole columns read at once: each distinct text is read once, however many cells hold it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.cells import Reading, reader
from riskmodel.cases.identifiers import harmless
from riskmodel.cases.sheet import Sheet, rows_where
from riskmodel.cases.table import Column, State, column
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.errors import Severity
from riskmodel.tables import Cell, as_text


def texts(cells: Sequence[Cell]) -> list[str]:
    """(n,) cells as trimmed text."""
    return [cell.strip() if type(cell) is str else as_text(cell) for cell in cells]


def read_column(held: Sequence[str], variable: Variable, name: str, sheet: Sheet) -> Column:
    """(n,) texts as a column of the variable; faults are reported under `name` and become missing."""
    if variable.kind is Kind.TEXT:
        return _text_column(held)
    distinct, codes = _distinct(held)
    read = reader(variable)
    readings = [read(text) for text in distinct]
    for code, reading in enumerate(readings):
        if reading.rule is not None:
            for row in rows_where(codes == code):
                report(reading, row, name, harmless(distinct[code]), sheet)
    values = np.array([reading.value for reading in readings], dtype=np.float64)
    states = np.array([reading.state for reading in readings], dtype=np.int8)
    return column(values[codes], states[codes])


def told_column(held: Sequence[str]) -> Column:
    """A column that only says in which cells there was anything; its values are not kept."""
    return column([0.0 if text else np.nan for text in held])


def _text_column(held: Sequence[str]) -> Column:
    distinct, codes = _distinct(held)
    empty = np.array([not text for text in distinct], dtype=bool)
    states = np.where(empty, State.MISSING, State.PRESENT).astype(np.int8)
    place = np.cumsum(~empty) - 1.0
    return column(place[codes], states[codes], [text for text in distinct if text])


def _distinct(held: Sequence[str]) -> tuple[list[str], NDArray[np.intp]]:
    """The distinct texts in the order of their first cell, and (n,) the place of each cell's text among them."""
    places: dict[str, int] = {}
    codes = np.fromiter((places.setdefault(text, len(places)) for text in held), dtype=np.intp, count=len(held))
    return list(places), codes


def report(reading: Reading, row: int, name: str, found: str, sheet: Sheet) -> None:
    """Say what is wrong, or doubtful, about a cell that was read."""
    if reading.rule is not None:
        severity = Severity.WARNING if reading.doubtful else Severity.ERROR
        sheet.cell(row, name, found, reading.accepted, reading.rule, severity)
