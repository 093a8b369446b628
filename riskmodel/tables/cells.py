"""A cell as a file holds it, and as the text that a person would have typed."""

from datetime import date, datetime, time, timedelta

Cell = str | int | float | bool | date | datetime | time | timedelta | None


def as_text(cell: Cell) -> str:
    """The cell as trimmed text: empty for nothing, yes/no for true/false, a date as YYYY-MM-DD, 3 for 3.0.

    >>> [as_text(cell) for cell in (None, True, 3.0, 2.5, date(2024, 5, 1), " x ")]
    ['', 'yes', '3', '2.5', '2024-05-01', 'x']
    """
    if isinstance(cell, str):
        return cell.strip()
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return _number(cell)
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(sep=" ")
    return str(cell)


def _number(value: float) -> str:
    """The shortest text that reads back as this number; nothing for not-a-number, which files use for empty."""
    if value != value:
        return ""
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
