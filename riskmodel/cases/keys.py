"""Who is who: the key of each row, and cells that would give a child away."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from riskmodel.cases.cells import ordinal
from riskmodel.cases.identifiers import harmless, in_key, is_day, resembles
from riskmodel.cases.sheet import Sheet
from riskmodel.cases.table import Floats

_LONG_BEFORE_DAYS = 365


def keys(held: Sequence[str] | None, name: str, sheet: Sheet) -> tuple[str, ...]:
    """(n,) the keys of the rows; the numbers of the rows where no column holds keys."""
    if held is None:
        return tuple(str(number) for number in sheet.numbers)
    first: dict[str, int] = {}
    for row, key in enumerate(held):
        if not key:
            sheet.cell(row, name, "nothing", "a key of its own in each row", "missing_key")
        elif first.setdefault(key, row) != row:
            found = f"{harmless(key, in_key)}, which row {sheet.numbers[first[key]]} has too"
            sheet.cell(row, name, found, "one row per child, each with a key of its own", "duplicate_key")
    look_through(held, name, sheet, in_key)
    return tuple(held)


def look_through(
    held: Sequence[str], name: str, sheet: Sheet, kind_of: Callable[[str], str | None] = resembles
) -> None:
    """Report cells that look like a direct identifier: how many and of which kind, never what they say."""
    kinds: dict[str, list[int]] = {}
    for row, text in enumerate(held):
        if text and (kind := kind_of(text)) is not None:
            kinds.setdefault(kind, []).append(row)
    for kind, rows in kinds.items():
        more = f" ({len(rows)} such cells in this column)" if len(rows) > 1 else ""
        accepted = "codes that only the department can trace back; no direct identifier"
        sheet.cell(rows[0], name, f"a cell that looks like {kind}{more}", accepted, "identifier_content")


def look_for_births(unknown: Mapping[str, Sequence[str]], operation: Floats | None, sheet: Sheet) -> None:
    """Report unknown columns of dates that may be dates of birth.

    They may unless, half of them or more, they lie within a year before `operation` or after it ((n,) days of the
    operation as ordinals; None when the file has none, and then no such column can be told from dates of birth).
    """
    for name, held in unknown.items():
        filled = [text for text in held if text]
        if filled and 2 * sum(map(is_day, filled)) >= len(filled) and _long_before(held, operation):
            accepted = "a file without dates of birth: take the column out"
            sheet.column(name, "a column of dates that may be dates of birth", accepted, "identifier_content")


def _long_before(held: Sequence[str], operation: Floats | None) -> bool:
    if operation is None:
        return True
    gaps = operation - np.array([ordinal(text) for text in held])
    gaps = gaps[~np.isnan(gaps)]
    return not len(gaps) or float(np.median(gaps)) > _LONG_BEFORE_DAYS
