"""The tables of the cohort, checked as any cohort is, with findings that name the registry's own rows."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from riskmodel import cases
from riskmodel.cases.cells import reader
from riskmodel.dictionary.model import Dictionary, Kind, Role, Variable
from riskmodel.dictionary.roles import holder
from riskmodel.errors import Finding, Severity
from riskmodel.tables import Cell, RawTable
from training.registry.tidying.notes import Notes, Place
from training.registry.tidying.times import Values


@dataclass(frozen=True, slots=True)
class Record:
    """One row of a table of the cohort and the place in the registry that it stands for."""

    key: str
    values: Values
    place: Place
    columns: Mapping[str, str | None]


def table_of(name: str, records: Sequence[Record], dictionary: Dictionary) -> RawTable:
    """The records as a table: the key first, then the variables that any of them has, in the dictionary's order."""
    key = holder(dictionary, Role.KEY)
    used = {variable for record in records for variable in record.values}
    header = [variable for variable in dictionary.variables if variable in used]
    variables = [dictionary.variables[variable] for variable in header]
    rows = tuple((record.key, *(_cell(record.values, variable) for variable in variables)) for record in records)
    first = key.name if key is not None else "key"
    return RawTable(name, (first, *header), rows, 1, tuple(range(2, len(rows) + 2)))


def _cell(values: Values, variable: Variable) -> Cell:
    """Numbers as numbers, so that a minus is not taken for the start of a formula."""
    text = values.get(variable.name, "")
    if not text or text in variable.states or not variable.kind.numeric or variable.levels:
        return text
    return float(text)


def check_children(table: RawTable, records: Sequence[Record], dictionary: Dictionary, notes: Notes) -> None:
    """Write down everything that the cohort's own check finds, under the rows and columns of the registry."""
    if not records and notes.findings:
        return  # nobody could be read, and it is written down why
    for finding in cases.check(table, dictionary)[1]:
        notes.findings.append(_moved(finding, records))


def _moved(finding: Finding, records: Sequence[Record]) -> Finding:
    if finding.row is None:
        return finding
    record = records[finding.row - 2]
    header = record.columns.get(finding.column or "")
    column = f"{header} ({finding.column})" if header and header != finding.column else finding.column
    return replace(finding, sheet=record.place.sheet, row=record.place.row, column=column)


def check_records(records: Iterable[Record], dictionary: Dictionary, notes: Notes) -> None:
    """Hold every value of a further table against the range or the codes of its variable."""
    for record in records:
        for name, text in record.values.items():
            variable = dictionary.variables[name]
            read = None if variable.kind is Kind.TEXT else reader(variable)(text)
            if read is not None and read.rule is not None:
                place = replace(record.place, column=record.columns.get(name))
                severity = Severity.WARNING if read.doubtful else Severity.ERROR
                notes.fault(place, text, read.accepted, read.rule, severity)
