"""What stands in a column, counted; the draft shows none of it that the shipped lists do not know."""

import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from training.registry.cells import Broken, RegistryCell, is_day, is_number, plain, text_of
from training.registry.sheets import Sheet

_LONG_TEXT = 25
_LISTED_ROWS = 8


@dataclass(frozen=True, slots=True)
class Contents:
    """The filled cells of one column, with their rows."""

    cells: tuple[tuple[int, RegistryCell], ...]

    @property
    def texts(self) -> Counter[str]:
        """Distinct texts, made plain, of the cells that are no dates and no broken formulas."""
        kept = (cell for _, cell in self.cells if not is_day(cell) and not isinstance(cell, Broken))
        return Counter(plain(text_of(cell)) for cell in kept)

    @property
    def typed(self) -> list[str]:
        """The plain text of every cell that the spreadsheet holds as text."""
        return [plain(cell) for _, cell in self.cells if isinstance(cell, str)]

    def count(self, test: Callable[[RegistryCell], bool]) -> int:
        """How many cells pass a test."""
        return sum(test(cell) for _, cell in self.cells)

    @property
    def days(self) -> int:
        """How many cells the spreadsheet holds as dates."""
        return self.count(is_day)

    @property
    def numbers(self) -> int:
        """How many cells the spreadsheet holds as numbers."""
        return self.count(is_number)

    def matching(self, pattern: str) -> int:
        """How many texts hold the pattern."""
        return sum(re.search(pattern, text) is not None for text in self.typed)

    def free_text(self) -> bool:
        """Whether the column has more of sentences than of words."""
        long = sum(len(text) > _LONG_TEXT for text in self.typed)
        return bool(self.typed) and 2 * long >= len(self.typed)

    def rows(self, words: Iterable[str]) -> str:
        """The first rows in which one of these texts stands, as `row 6` or `rows 6, 9, ...`."""
        wanted = set(words)
        held = [str(row) for row, cell in self.cells if plain(text_of(cell)) in wanted]
        listed = ", ".join(held[:_LISTED_ROWS]) + (", ..." if len(held) > _LISTED_ROWS else "")
        return f"row{'s' if len(held) > 1 else ''} {listed}"


def contents(sheet: Sheet, column: int, rows: Iterable[int]) -> Contents:
    """The filled cells of a column in these rows."""
    held = ((row, sheet.cell(row, column)) for row in rows)
    return Contents(tuple((row, cell) for row, cell in held if text_of(cell)))
