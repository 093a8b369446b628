"""From numbered records to a table: the header, the rows under it, and records that do not fit it."""

from collections.abc import Iterable, Iterator, Sequence

from riskmodel.errors import Finding, Severity, TableRefused
from riskmodel.tables.cells import Cell, as_text
from riskmodel.tables.model import MOST_ROWS, RawTable

Record = tuple[int, Sequence[Cell]]

_MOST_RAGGED = 20


def table(sheet: str, records: Iterable[Record], *, ragged: bool) -> RawTable | None:
    """The table of one sheet; None when it is empty. The first record that is not blank is the header.

    `ragged`: the file does not force all records to one length, so that a record of another length is a fault.

    Raises
    ------
    TableRefused
        When records are longer or shorter than the header, or there are more than 100,000.
    """
    filled = _filled(records)
    head = next(filled, None)
    if head is None:
        return None
    header = [as_text(cell) for cell in head[1]]
    numbers: list[int] = []
    rows: list[tuple[Cell, ...]] = []
    wrong: list[Finding] = []
    for number, cells in filled:
        if len(rows) == MOST_ROWS:
            raise TableRefused([fault(sheet, None, "more than 100,000 rows", "at most 100,000 rows", "too_many_rows")])
        if ragged and len(cells) != len(header) and len(wrong) < _MOST_RAGGED:
            wrong.append(_ragged(sheet, number, len(cells), len(header)))
        numbers.append(number)
        rows.append(tuple(cells))
    if wrong:
        raise TableRefused(wrong)
    return _trimmed(RawTable(sheet, tuple(header), tuple(rows), head[0], tuple(numbers)))


def fault(sheet: str, row: int | None, found: str, accepted: str, rule: str) -> Finding:
    """An error about a file or one of its rows."""
    return Finding(sheet, row, None, found, accepted, Severity.ERROR, rule)


def _filled(records: Iterable[Record]) -> Iterator[Record]:
    """Records that hold anything at all."""
    return ((number, cells) for number, cells in records if any(cell not in ("", None) for cell in cells))


def _ragged(sheet: str, number: int, found: int, wanted: int) -> Finding:
    hint = "; a decimal comma, or a text with a comma and no quotes, does this" if found > wanted else ""
    return fault(sheet, number, f"{found} cells{hint}", f"{wanted} cells, as many as the header", "ragged_row")


def _trimmed(held: RawTable) -> RawTable:
    """Without the columns at the right that have neither a name nor a value."""
    width = len(held.header)
    while width and not held.header[width - 1] and not any(map(as_text, held.column(width - 1))):
        width -= 1
    if width == len(held.header):
        return held
    rows = tuple(row[:width] for row in held.rows)
    return RawTable(held.sheet, held.header[:width], rows, held.header_row, held.numbers)
