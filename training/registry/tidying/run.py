"""The whole way from a registry to a cohort."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding, Refused, refuse_errors
from riskmodel.tables import RawTable
from training.registry.mapping.check import check_map
from training.registry.mapping.errors import MapRefused
from training.registry.mapping.fit import check_fit
from training.registry.mapping.model import Keys, RegistryMap, Rows, SheetRule
from training.registry.reading.held import Setting
from training.registry.sheets import Registry
from training.registry.targets import CHILDREN
from training.registry.tidying.children import Children, gather_children, gather_columns, refuse_alike
from training.registry.tidying.keys import new_keys
from training.registry.tidying.magnitudes import warn_magnitudes
from training.registry.tidying.notes import Change, Place
from training.registry.tidying.operations import gather_operations
from training.registry.tidying.records import child_records, further_records
from training.registry.tidying.rows import Row, read_rows
from training.registry.tidying.sheet_notes import check_merged, check_mixed_dates, note_lost
from training.registry.tidying.tables import check_children, check_records, table_of
from training.registry.tidying.work import Work, begin

SheetRows = tuple[SheetRule, tuple[Row, ...]]


class RegistryRefused(Refused):
    """A registry holds something that its map does not cover, or that cannot be true."""


@dataclass(frozen=True, slots=True)
class Tidied:
    """A cohort made from a registry: its tables by name, the list of changes, and the warnings."""

    tables: Mapping[str, RawTable]
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]


def tidy(registry: Registry, held: RegistryMap, dictionary: Dictionary, *, on: date) -> Tidied:
    """Make the de-identified cohort that the map describes. Nothing is guessed.

    Parameters
    ----------
    registry : the file as read; it is not written to
    held : the map, answered in full
    dictionary : what the cohort's columns may hold
    on : the day of reading; later dates are refused

    Raises
    ------
    MapRefused
        When the map does not fit the dictionary or the registry, with everything that does not fit.
    RegistryRefused
        When cells are not covered by the map or cannot be true: every one of them.
    """
    refuse_errors((*check_map(held, dictionary), *check_fit(held, registry)), MapRefused)
    work = begin(dictionary, on)
    read = [_rows(registry, rule, work) for rule in held.sheets if rule.becomes is not None]
    children = _children(read, work)
    tables = _tables(read, children, work)
    refuse_errors(work.notes.findings, RegistryRefused)
    return Tidied(MappingProxyType(tables), tuple(work.notes.changes), tuple(work.notes.findings))


def _rows(registry: Registry, rule: SheetRule, work: Work) -> SheetRows:
    """The rows of one sheet, with what is said of the sheet as a whole."""
    sheet, notes = registry.sheets[rule.name], work.notes
    note_lost(sheet, notes)
    check_merged(sheet, rule, notes)
    check_mixed_dates(sheet, rule, work.known, notes)
    for column in rule.columns:
        became = ", ".join(column.to)
        said = f"not carried: {column.not_carried.value.replace('_', ' ')}" if column.not_carried else "column"
        notes.change(Place(sheet.name, None, column.header, column.header), became, said)
    return rule, read_rows(sheet, rule, Setting(work.known, work.on, rule.empty), notes)


def _children(read: list[SheetRows], work: Work) -> Children:
    """Every child: of sheets of operations, of sheets with a row per child, then what further sheets add."""
    children: Children = {}
    own = [(rule, rows) for rule, rows in read if rule.becomes == CHILDREN]
    for rule, rows in own:
        if rule.later is not None and rule.rows is Rows.OPERATIONS:
            gather_operations(rows, rule.later, children, work)
    for rule, rows in own:
        if rule.rows is Rows.CHILDREN:
            gather_children(rows, children, work)
    for rule, rows in own:
        if rule.rows is Rows.FURTHER_COLUMNS:
            gather_columns(rows, children, work.notes)
    refuse_alike(children, work.notes)
    return children


def _tables(read: list[SheetRows], children: Children, work: Work) -> dict[str, RawTable]:
    """The children, then every further table, each checked."""
    names = new_keys(list(children)) if any(rule.keys is Keys.NEW for rule, _ in read) else dict.fromkeys(children, "")
    names = {key: name or key for key, name in names.items()}
    always = {rule.name: rule.always for rule, _ in read}
    records = child_records(children, names, always, work)
    tables = {CHILDREN: table_of(CHILDREN, records, work.dictionary)}
    check_children(tables[CHILDREN], records, work.dictionary, work.notes)
    warn_magnitudes(records, work.dictionary, work.notes)
    for rule, rows in read:
        if rule.becomes is not None and rule.becomes != CHILDREN:
            further = further_records(rows, children, names, work)
            check_records(further, work.dictionary, work.notes)
            tables[rule.becomes] = table_of(rule.becomes, further, work.dictionary)
    return tables
