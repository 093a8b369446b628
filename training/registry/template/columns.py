"""Which columns each sheet of the template has."""

from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.dictionary.export import template_columns
from riskmodel.dictionary.model import TABLES, Dictionary, Role
from riskmodel.dictionary.roles import holder
from riskmodel.errors import DocumentRefused
from training.registry.targets import CHILDREN, Target, targets


@dataclass(frozen=True, slots=True)
class Plan:
    """One sheet: its name and columns; `one_row`: a child may have one row only."""

    name: str
    columns: tuple[Target, ...]
    one_row: bool


def plans(dictionary: Dictionary, more: tuple[str, ...]) -> tuple[Plan, ...]:
    """The sheet of children, then the tables that are asked for.

    Raises
    ------
    DocumentRefused
        When a table is not one of the dictionary's, or it has no variable for it.
    """
    known = targets(dictionary)
    held = [Plan(CHILDREN, tuple(known[name] for name in template_columns(dictionary)), one_row=True)]
    there = tuple(_tables(dictionary))
    for name in dict.fromkeys(more):
        if name not in there:
            listed = ", ".join(there) if there else "no further table"
            raise DocumentRefused(f"no table {name} in the dictionary {dictionary.name}; it has {listed}")
        held.append(Plan(name, tuple(_further(name, dictionary)), one_row=False))
    return tuple(held)


def _tables(dictionary: Dictionary) -> Iterator[str]:
    """Tables beside the children for which the dictionary has a variable."""
    used = {variable.table for variable in dictionary.variables.values()}
    return (name for name in TABLES if name in used and name != CHILDREN)


def _further(name: str, dictionary: Dictionary) -> Iterator[Target]:
    """The key, then the table's own variables."""
    known, key = targets(dictionary), holder(dictionary, Role.KEY)
    if key is not None:
        yield known[key.name]
    yield from (known[held.name] for held in dictionary.variables.values() if held.table == name and held is not key)
