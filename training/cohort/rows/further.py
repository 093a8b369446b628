"""The further tables beside the children's: those with one row per child joined by key, the others kept as rows."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases import Column, State, check, column
from riskmodel.cases.sheet import Sheet
from riskmodel.dictionary.model import LONG_TABLES, TABLES, Dictionary, Kind, Role
from riskmodel.errors import Finding, Severity
from riskmodel.tables import RawTable
from training.cohort.rows.keys import NOBODY, Keys, children_of, keys_of
from training.cohort.rows.sides import by_side
from training.cohort.rows.told import Told, agreed, disagreements

CHILDREN = TABLES[0]


@dataclass(frozen=True, slots=True)
class Long:
    """The m rows of a table that has several per child.

    `child` (m,): the place of each row's child among the children. `sheet` says where a row stands.
    """

    sheet: Sheet
    child: NDArray[np.intp]
    columns: Mapping[str, Column]

    def __len__(self) -> int:
        return len(self.child)

    def take(self, rows: NDArray[np.bool_]) -> "Long":
        """The chosen rows."""
        numbers = [number for number, kept in zip(self.sheet.numbers, rows.tolist(), strict=True) if kept]
        held = {name: each.take(rows) for name, each in self.columns.items()}
        return Long(Sheet(self.sheet.name, numbers), self.child[rows], held)

    def __getitem__(self, name: str) -> Column:
        """The column of that name, missing throughout where the table has none."""
        return self.columns[name] if name in self.columns else column(np.full(len(self), np.nan))


@dataclass(frozen=True, slots=True)
class Further:
    """What the further tables hold: `wide` columns for n children by name, `long` tables by name, `findings`."""

    wide: Mapping[str, Told] = field(default_factory=dict)
    long: Mapping[str, Long] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def further(children: RawTable, held: Sequence[RawTable], dictionary: Dictionary) -> Further:
    """Read every further table that goes by a name of the dictionary's tables; others are passed over.

    A cell with an error is missing; a row of nobody among the children is an error and left out.

    Parameters
    ----------
    children : the table with one row per child
    held : all tables of the file or folder, the children's among them
    """
    known = {variable.table for variable in dictionary.variables.values()} - {CHILDREN}
    tables = [table for table in held if table is not children and table.sheet.lower() in known and len(table)]
    keys = keys_of(children, dictionary)
    if keys is None:
        return Further(findings=tuple(map(_without_key, tables)))
    wide: dict[str, Told] = {}
    long: dict[str, Long] = {}
    findings: list[Finding] = []
    for table in tables:
        name = table.sheet.lower()
        if name in LONG_TABLES:
            long[name] = _long(table, keys, dictionary, findings)
        else:
            _join(wide, table, keys, dictionary, findings)
    return Further(wide, long, tuple(dict.fromkeys(findings)))


def _without_key(table: RawTable) -> Finding:
    found = "a table whose rows cannot be told to be anybody's (ignored)"
    accepted = "a column of keys in the table of children"
    return Finding(table.sheet, None, None, found, accepted, Severity.WARNING, "needed_column")


def _long(table: RawTable, keys: Keys, dictionary: Dictionary, findings: list[Finding]) -> Long:
    cases, found = check(table, _own(dictionary, table.sheet.lower()), needed=(keys.name,))
    sheet = Sheet(table.sheet, table.numbers)
    child = children_of(table, keys, sheet)
    for row in np.flatnonzero(~cases[keys.name].present).tolist():
        sheet.cell(row, keys.name, "nothing", "the key of a child in each row", "missing_key")
    findings += (*found, *sheet.sorted())
    return Long(Sheet(table.sheet, table.numbers), child, cases.columns).take(child != NOBODY)


def _own(dictionary: Dictionary, name: str) -> Dictionary:
    """The dictionary of one long table, as if its rows were the children: a key may come again."""
    known = {held.name: replace(held, table=CHILDREN) for held in dictionary.variables.values() if held.table == name}
    keys = (held for held in dictionary.variables.values() if held.role is Role.KEY)
    known |= {key.name: replace(key, kind=Kind.TEXT, role=Role.OTHER) for key in keys}
    return Dictionary(dictionary.name, dictionary.version, known)


def _join(wide: dict[str, Told], table: RawTable, keys: Keys, dictionary: Dictionary, findings: list[Finding]) -> None:
    """Add the columns of a table with one row per child, or one for each side of a child."""
    parts, wrong = by_side(table, dictionary)
    findings += wrong
    for part in parts:
        for name, told in _wide(part, keys, dictionary, findings):
            if name in wide:
                findings += disagreements(wide[name], told, dictionary.variables[name])
                told = replace(told, column=agreed(wide[name], told, dictionary.variables[name]))
            wide[name] = told


def _wide(table: RawTable, keys: Keys, dictionary: Dictionary, findings: list[Finding]) -> Iterator[tuple[str, Told]]:
    cases, found = check(table, dictionary, needed=(keys.name,))
    sheet = Sheet(table.sheet, table.numbers)
    child = children_of(table, keys, sheet)
    findings += (*found, *sheet.sorted())
    of = np.full(keys.count, NOBODY, dtype=np.intp)
    of[child[child != NOBODY]] = np.flatnonzero(child != NOBODY)
    rows = np.where(of == NOBODY, 0, np.array(table.numbers, dtype=np.intp)[of])
    for name, held in cases.columns.items():
        if name != keys.name:  # there only where the table lacks it
            placed = held.take(of)
            states = np.where(of == NOBODY, State.MISSING, placed.states).astype(np.int8)
            yield name, Told(table.sheet, column(placed.values, states, placed.labels), rows)
