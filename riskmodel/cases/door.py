"""From a raw table to checked cases, with every finding at once.

The way of a table: header -> trimmed texts -> keys -> a column a variable -> dates to months -> groups -> ends and
outcomes -> what is needed and lacking. Each step adds its findings to one `Sheet` and goes on.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence

import numpy as np

from riskmodel.cases.columns import read_column, texts, told_column
from riskmodel.cases.ends import complete_ends
from riskmodel.cases.groups import with_groups
from riskmodel.cases.header import Elsewhere, Header, match
from riskmodel.cases.keys import keys, look_for_births, look_through
from riskmodel.cases.sheet import Sheet
from riskmodel.cases.table import CaseTable, Column, column
from riskmodel.cases.times import dates_to_months
from riskmodel.dictionary.model import Dictionary, Kind, Role
from riskmodel.dictionary.roles import dated, holder, origin
from riskmodel.errors import Finding
from riskmodel.tables import RawTable

_NOT_ELSEWHERE = Elsewhere()


def check(
    raw: RawTable,
    dictionary: Dictionary,
    *,
    needed: Collection[str] = (),
    elsewhere: Elsewhere = _NOT_ELSEWHERE,
) -> tuple[CaseTable, tuple[Finding, ...]]:
    """Check a table of children against the dictionary.

    Parameters
    ----------
    raw : one row per child
    dictionary : what the columns may hold
    needed : variables that must have a column (or follow from others: a group, a year, an outcome from its events)
    elsewhere : names that this dictionary does not have but that are no mistakes

    Returns
    -------
    CaseTable
        Every column that the dictionary knows, and those that follow from them; a cell with an error is missing.
        Needed columns that are absent are missing throughout.
    tuple of Finding
        Everything found. The table may be used only if none is an error (`riskmodel.errors.refuse_errors`).
    """
    sheet = Sheet(raw.sheet, raw.numbers)
    if not len(sheet):
        sheet.column(None, "a header and no row under it", "one row per child", "no_rows")
    header = match(raw.header, dictionary, elsewhere, sheet)
    held = _texts(raw, header)
    key = holder(dictionary, Role.KEY)
    names = keys(held.get(key.name) if key else None, key.name if key else "", sheet)
    columns = _columns(held, header, dictionary, sheet)
    _look_for_identifiers(held, header, columns, dictionary, sheet)
    dates = {name: held[raw.header[place]] for name, place in header.dates.items()}
    columns = dates_to_months(columns, dates, dictionary, origin(dictionary), sheet)
    columns = with_groups(columns, dictionary, sheet)
    columns = complete_ends(columns, dictionary, sheet)
    columns |= {name: told_column(held[name]) for name in header.later}
    lacking = [name for name in needed if name not in columns and name not in header.known]
    _need(lacking, dictionary, sheet)
    return with_missing(CaseTable(names, columns), lacking), sheet.sorted()


def with_missing(cases: CaseTable, names: Iterable[str]) -> CaseTable:
    """The cases, with a column that is missing throughout for each name they lack."""
    empty = column(np.full(len(cases), np.nan))
    return cases.with_columns({name: empty for name in names if name not in cases})


def _texts(raw: RawTable, header: Header) -> dict[str, list[str]]:
    places = [*header.known.values(), *header.dates.values(), *header.later.values(), *header.unknown.values()]
    return {raw.header[place]: texts(raw.column(place)) for place in places}


def _columns(
    held: Mapping[str, Sequence[str]], header: Header, dictionary: Dictionary, sheet: Sheet
) -> dict[str, Column]:
    """Every known column but the keys, as its variable says."""
    variables = (dictionary.variables[name] for name in header.known)
    return {
        variable.name: read_column(held[variable.name], variable, variable.name, sheet)
        for variable in variables
        if variable.role is not Role.KEY
    }


def _look_for_identifiers(
    held: Mapping[str, Sequence[str]],
    header: Header,
    columns: Mapping[str, Column],
    dictionary: Dictionary,
    sheet: Sheet,
) -> None:
    """Look through every column whose cells are not held to numbers or codes."""
    free = [name for name in header.known if dictionary.variables[name].kind is Kind.TEXT]
    for name in (*free, *header.unknown):
        if name not in header.known or dictionary.variables[name].role is not Role.KEY:
            look_through(held[name], name, sheet)
    start = origin(dictionary)
    operation = columns[start.name].values if start is not None and start.name in columns else None
    look_for_births({name: held[name] for name in header.unknown}, operation, sheet)


def _need(lacking: Collection[str], dictionary: Dictionary, sheet: Sheet) -> None:
    """Report needed columns that are not there."""
    days = {name: day for day, name in dated(dictionary)} if lacking else {}
    for name in lacking:
        other = f", or {days[name]} in its place" if name in days else ""
        sheet.column(name, "no such column", f"a column {name}{other}", "needed_column")
