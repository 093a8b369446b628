"""What a table says of each child, and whether two tables say the same."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import STATE_WORDS, Column, State
from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.errors import Finding, Severity

SAME = 1e-9
_WORDS = {state: word for word, state in STATE_WORDS.items()}
_SEVERAL = 0


@dataclass(frozen=True, slots=True)
class Told:
    """A column for n children as one table tells it.

    `rows` (n,): the row of the sheet for each child, 0 where it has none or several.
    """

    sheet: str
    column: Column
    rows: NDArray[np.intp]


def agreed(first: Told, second: Told, variable: Variable) -> Column:
    """The first table's values, the second's where the first has nothing."""
    if variable.kind is Kind.TEXT:  # texts are numbered table by table
        return first.column if first.column.present.any() else second.column
    return first.column.filled_from(second.column)


def disagreements(first: Told, second: Told, variable: Variable, *, within: float = SAME) -> Iterator[Finding]:
    """A finding for each child of whom both tables say something, and not the same; `within` in the variable's unit."""
    if variable.kind is Kind.TEXT:
        return
    one, other = first.column, second.column
    apart = (one.states != other.states) | (np.abs(one.values - other.values) > within)
    for child in np.flatnonzero(~one.missing & ~other.missing & apart).tolist():
        found = f"{_word(other, child, variable)}, but {_place(first, child)} has {_word(one, child, variable)}"
        yield disagreement(second, child, variable.name, found)


def disagreement(told: Told, child: int, name: str, found: str, severity: Severity = Severity.ERROR) -> Finding:
    """Two tables that contradict each other about one child."""
    accepted = "the same in both tables, or one of the two only"
    row = int(told.rows[child]) or None
    return Finding(told.sheet, row, name, found, accepted, severity, "tables_disagree")


def _place(told: Told, child: int) -> str:
    row = int(told.rows[child])
    return told.sheet if row == _SEVERAL else f"row {row} of {told.sheet}"


def _word(held: Column, child: int, variable: Variable) -> str:
    state = State(int(held.states[child]))
    if state is not State.PRESENT:
        return _WORDS.get(state, "nothing")
    value = float(held.values[child])
    if variable.kind is Kind.FLAGS:
        return "+".join(code for place, code in enumerate(variable.codes) if int(value) >> place & 1) or "none"
    codes = codes_of(variable)
    return codes[int(value)] if codes else f"{value:g}"
