"""One sheet as it was read."""

from dataclasses import dataclass

from riskmodel.tables.cells import Cell

LARGEST_BYTES = 64 * 2**20
MOST_ROWS = 100_000


@dataclass(frozen=True, slots=True)
class RawTable:
    """A header and rows of cells, nothing interpreted.

    `sheet` is the sheet's or file's short name. `header` (m,): trimmed, empty where a column has none. `rows` (n, m);
    rows that are empty from end to end are left out. `header_row` and `numbers` (n,) are rows as a spreadsheet counts
    them, 1 for the first.
    """

    sheet: str
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    header_row: int
    numbers: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.rows)

    def column(self, place: int) -> tuple[Cell, ...]:
        """(n,) cells of the column at this place of the header."""
        return tuple(row[place] for row in self.rows)
