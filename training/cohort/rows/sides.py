"""A table of sides with one row per side of a child, turned into a table for each side."""

from dataclasses import replace

from riskmodel.cases.columns import texts
from riskmodel.cases.identifiers import harmless
from riskmodel.cases.sheet import Sheet
from riskmodel.dictionary.model import SIDES, Dictionary
from riskmodel.errors import Finding
from riskmodel.tables import RawTable

SIDE = "side"
_PATTERN = "{side}"


def by_side(table: RawTable, dictionary: Dictionary) -> tuple[tuple[RawTable, ...], tuple[Finding, ...]]:
    """The table itself, or one for each side where it has a column `side`.

    Without the word for the side a column is named as its pair: `c1c2_gap_rest_mm` in the row of a right side is
    `c1c2_gap_rest_right_mm`.
    """
    if SIDE not in table.header:
        return (table,), ()
    place, sheet = table.header.index(SIDE), Sheet(table.sheet, table.numbers)
    told = texts(table.column(place))
    for row, text in enumerate(told):
        if text not in SIDES:
            sheet.cell(row, SIDE, harmless(text) or "nothing", "one of " + ", ".join(SIDES), "unknown_level")
    parts = (_part(table, [text == side for text in told], _sided(table, side, dictionary)) for side in SIDES)
    return tuple(part for part in parts if len(part)), sheet.sorted()


def _sided(table: RawTable, side: str, dictionary: Dictionary) -> tuple[str, ...]:
    pairs = [held.sides for held in dictionary.variables.values() if held.sides is not None and _PATTERN in held.sides]
    names = {pair.replace(f"_{_PATTERN}", ""): pair.replace(_PATTERN, side) for pair in pairs}
    return tuple(names.get(name, name) for name in table.header)


def _part(table: RawTable, chosen: list[bool], header: tuple[str, ...]) -> RawTable:
    """The chosen rows under other names, without the column that says the side."""
    kept = [place for place, name in enumerate(header) if name != SIDE]
    rows = [row for row, here in zip(table.rows, chosen, strict=True) if here]
    numbers = [number for number, here in zip(table.numbers, chosen, strict=True) if here]
    return replace(
        table,
        header=tuple(header[place] for place in kept),
        rows=tuple(tuple(row[place] for place in kept) for row in rows),
        numbers=tuple(numbers),
    )
