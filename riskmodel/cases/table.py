"""Checked cases as columns: the only form in which anything below the door sees a child."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from riskmodel.dictionary.coding import EMPTY_WORDS

Floats = NDArray[np.float64]


class State(IntEnum):
    """Why a value is there, or why it is not. The three empty words are never merged with plain missing."""

    PRESENT = 0
    MISSING = 1
    NOT_MEASURABLE = 2
    NOT_APPLICABLE = 3
    NOT_TESTED = 4


# Members of an enumeration are slow to look up, and these are asked for once a column.
_PRESENT, _MISSING = int(State.PRESENT), int(State.MISSING)
STATE_WORDS = {word: State[word.upper()] for word in EMPTY_WORDS}


@dataclass(frozen=True, slots=True)
class Column:
    """Values of one variable for n cases.

    `values` (n,): numbers as they are; yes_no 0/1; a level as the index into the variable's codes; flags as a bit
    mask in the order of the codes; a date as its ordinal; text as the index into `labels`. NaN unless PRESENT.
    `states` (n,) int8: a `State` each.
    """

    values: Floats
    states: NDArray[np.int8]
    labels: tuple[str, ...] = ()

    @property
    def present(self) -> NDArray[np.bool_]:
        """(n,) whether a value is there."""
        held: NDArray[np.bool_] = self.states == _PRESENT
        return held

    @property
    def missing(self) -> NDArray[np.bool_]:
        """(n,) whether the cell was simply empty."""
        held: NDArray[np.bool_] = self.states == _MISSING
        return held

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> "Column":
        """The column of the chosen rows."""
        return _frozen(self.values[rows], self.states[rows], self.labels)

    def filled_from(self, other: "Column") -> "Column":
        """The column, with what the other (n,) says wherever this one is plain missing."""
        states = np.where(self.missing, other.states, self.states).astype(np.int8)
        return column(np.where(self.present, self.values, other.values), states)


def column(
    values: Sequence[float] | Floats, states: Sequence[int] | NDArray[np.int8] | None = None, labels: Iterable[str] = ()
) -> Column:
    """Make a read-only column; without `states`, NaN means missing."""
    held = np.array(values, dtype=np.float64)
    if states is None:
        marks = np.where(np.isnan(held), _MISSING, _PRESENT).astype(np.int8)
    else:
        marks = np.array(states, dtype=np.int8)
        held[marks != _PRESENT] = np.nan
    return _frozen(held, marks, tuple(labels))


def _frozen(values: Floats, states: NDArray[np.int8], labels: tuple[str, ...]) -> Column:
    values.setflags(write=False)
    states.setflags(write=False)
    return Column(values, states, labels)


@dataclass(frozen=True, slots=True)
class CaseTable:
    """n cases: their keys, and a `Column` per variable name."""

    keys: tuple[str, ...]
    columns: Mapping[str, Column]

    def __len__(self) -> int:
        return len(self.keys)

    def __getitem__(self, name: str) -> Column:
        return self.columns[name]

    def __contains__(self, name: object) -> bool:
        return name in self.columns

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> "CaseTable":
        """The chosen rows, in the order given."""
        keys = np.array(self.keys, dtype=object)[rows]
        return CaseTable(tuple(keys), {name: held.take(rows) for name, held in self.columns.items()})

    def with_columns(self, more: Mapping[str, Column]) -> "CaseTable":
        """The same cases with further (or replaced) columns."""
        return CaseTable(self.keys, {**self.columns, **more})
