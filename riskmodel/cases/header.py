"""Which column of a sheet is which variable."""

from collections.abc import Collection
from dataclasses import dataclass, field

from riskmodel.cases.sheet import Sheet
from riskmodel.dictionary.model import LONG_TABLES, Dictionary, Variable
from riskmodel.dictionary.names import points_at_person, suggestion
from riskmodel.dictionary.roles import dated
from riskmodel.errors import Severity


@dataclass(frozen=True, slots=True)
class Header:
    """Places in the header: of variables, of dates in place of months (by the variable of months), of the others."""

    known: dict[str, int] = field(default_factory=dict)
    dates: dict[str, int] = field(default_factory=dict)
    later: dict[str, int] = field(default_factory=dict)
    unknown: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Names that the dictionary at hand does not have but that are no mistakes.

    `later`: what is known only after the model's moment, told apart but not read; `passed_over`: anything else.
    `unknown`: how much any other unknown name matters.
    """

    later: Collection[str] = ()
    passed_over: Collection[str] = ()
    unknown: Severity = Severity.WARNING


def match(names: tuple[str, ...], dictionary: Dictionary, elsewhere: Elsewhere, sheet: Sheet) -> Header:
    """Match the header's names; unknown, double and identifying ones become findings."""
    held = Header()
    dates = {} if all(name in dictionary.variables for name in names) else dict(dated(dictionary))
    seen: set[str] = set()
    for place, name in enumerate(names):
        if name in seen:
            sheet.column(name, "a second column of this name", "each column once", "duplicate_column")
        elif not name:
            sheet.column(None, f"column {place + 1} has no name", "a name", "nameless_column", Severity.WARNING)
        elif name in dictionary.variables:
            _known(dictionary.variables[name], place, held, sheet)
        elif name in dates:
            held.dates[dates[name]] = place
        elif name in elsewhere.later:
            held.later[name] = place
        elif name not in elsewhere.passed_over:
            held.unknown[name] = place
            _unknown(name, (*dictionary.variables, *dates), elsewhere, sheet)
        seen.add(name)
    return held


def _known(variable: Variable, place: int, held: Header, sheet: Sheet) -> None:
    """A variable that a child may have several of does not belong among its columns."""
    if variable.table in LONG_TABLES:
        accepted = f"the table {variable.table}, with a row for each"
        sheet.column(variable.name, "a column of another table (ignored)", accepted, "other_table", Severity.WARNING)
    else:
        held.known[variable.name] = place


def _unknown(name: str, known: tuple[str, ...], elsewhere: Elsewhere, sheet: Sheet) -> None:
    if points_at_person(name):
        accepted = "a file without direct identifiers: take the column out"
        sheet.column(name, "a column for a direct identifier, by its name", accepted, "identifier_column")
        return
    ending = " (ignored)" if elsewhere.unknown is Severity.WARNING else ""
    sheet.column(name, f"an unknown column{ending}", suggestion(name, known), "unknown_column", elsewhere.unknown)
