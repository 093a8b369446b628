"""A registry as it was read: sheets of cells, with what a plain table does not show."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from training.registry.cells import RegistryCell, text_of

Span = tuple[int, int, int, int]
"""First row, last row, first column, last column of merged cells, counted from 1."""


@dataclass(frozen=True, slots=True)
class Lost:
    """What a sheet holds besides values, by how many rows, columns or cells; none of it reaches the cohort."""

    hidden_rows: int = 0
    hidden_columns: int = 0
    filtered: bool = False
    comments: int = 0
    coloured: int = 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. `rows[r - 1][c - 1]` is the cell of row r and column c as a spreadsheet counts them."""

    name: str
    rows: tuple[tuple[RegistryCell, ...], ...]
    merged: tuple[Span, ...] = ()
    lost: Lost = field(default_factory=Lost)
    hidden: bool = False

    @property
    def width(self) -> int:
        """Number of columns of the widest row."""
        return max(map(len, self.rows), default=0)

    @property
    def empty(self) -> bool:
        """Whether no cell holds anything."""
        return not any(text_of(cell) for row in self.rows for cell in row)

    def cell(self, row: int, column: int) -> RegistryCell:
        """The cell at this row and column, None beyond the edge."""
        cells = self.rows[row - 1] if 0 < row <= len(self.rows) else ()
        return cells[column - 1] if 0 < column <= len(cells) else None


@dataclass(frozen=True, slots=True)
class Registry:
    """All sheets of one file, in its order. `base` is the workbook's own date base, 1900 or 1904."""

    name: str
    sheets: Mapping[str, Sheet] = field(default_factory=lambda: MappingProxyType({}))
    base: int = 1900


def headers(sheet: Sheet, rows: tuple[int, ...]) -> tuple[str, ...]:
    """Name of each column: the texts of its header rows, joined by " / ".

    Merged header cells name every column that they span. A column without a name is called by its letter, a name
    that was there already gets a number: "Date", "Date (2)".
    """
    names: list[str] = []
    for column in range(1, sheet.width + 1):
        parts = dict.fromkeys(text_of(spread(sheet, row, column)) for row in rows)
        name = " / ".join(part for part in parts if part) or f"(column {letter(column)})"
        names.append(_once(name, names))
    return tuple(names)


def spread(sheet: Sheet, row: int, column: int) -> RegistryCell:
    """The cell, or the first cell of the merged block that it lies in."""
    for top, bottom, left, right in sheet.merged:
        if top <= row <= bottom and left <= column <= right:
            return sheet.cell(top, left)
    return sheet.cell(row, column)


def letter(column: int) -> str:
    """A column's letters, A for 1.

    >>> letter(1), letter(28)
    ('A', 'AB')
    """
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def _once(name: str, taken: list[str]) -> str:
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name} ({number})"
    return free
