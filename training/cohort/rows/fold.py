"""All that the further tables tell of the children, as the protocol declares it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from riskmodel.cases import CaseTable, Column, column
from riskmodel.cases.sheet import Sheet
from riskmodel.errors import Finding, Severity
from training.cohort.rows import anchors, measures
from training.cohort.rows.ends import Ends, look_at_ends
from training.cohort.rows.events import look_at_events
from training.cohort.rows.further import Further, Long
from training.cohort.rows.readers import Readers
from training.cohort.rows.told import Told, agreed, disagreements
from training.protocol import Protocol
from training.protocol.parse_rows import predictor_rule
from training.protocol.row_rules import AnchorRule, End, JoinRule, MeasureRule, PredictorRule

HALF = 0.5  # of a variable's resolution: closer than that two values are one


@dataclass(frozen=True, slots=True)
class Folded:
    """Columns for n children by name, how far readers lie apart by predictor, and everything found."""

    columns: Mapping[str, Column] = field(default_factory=dict)
    readers: Mapping[str, Readers] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def told_by_rows(held: Further, protocol: Protocol) -> tuple[str, ...]:
    """The names that the table of children need not have: joined, or made from rows."""
    made = [predictor.variable for predictor in protocol.predictors if predictor.from_rows is not None]
    outcome = [protocol.outcome.name] if protocol.outcome.from_rows is not None and protocol.outcome.name else []
    return (*held.wide, *made, *outcome)


def fold(held: Further, cases: CaseTable, protocol: Protocol, sheet: str, numbers: tuple[int, ...]) -> Folded:
    """What the further tables tell of the children of `cases`, which stand in the rows `numbers` (n,) of `sheet`."""
    work = _Work(held, protocol, _children(cases, sheet, numbers), Sheet(sheet, numbers))
    work.join()
    for rows in held.long.values():
        look = {"measures": _look_at_measures, "events": _look_at_events}.get(rows.sheet.name.lower())
        if look is not None:
            look(rows, protocol)
    for number, predictor in enumerate(protocol.predictors, start=1):
        if predictor.from_rows is not None:
            rule = predictor_rule(predictor.from_rows, predictor.variable, protocol.dictionary.variables)
            work.make(predictor.variable, rule, f"predictor[{number}].from")
    ends = look_at_ends(held, protocol, work.children, work.sheet)
    columns = {name: told.column for name, told in work.children.items() if name in work.made} | dict(ends.columns)
    return Folded(columns, work.readers, tuple(work.found(ends)))


def _children(cases: CaseTable, sheet: str, numbers: tuple[int, ...]) -> dict[str, Told]:
    rows = np.array(numbers, dtype=np.intp)
    return {name: Told(sheet, held, rows) for name, held in cases.columns.items()}


def _look_at_measures(rows: Long, protocol: Protocol) -> None:
    if {measures.WHAT, measures.VALUE} <= rows.columns.keys():
        measures.look_at_values(rows, protocol.dictionary.variables)


def _look_at_events(rows: Long, protocol: Protocol) -> None:
    look_at_events(rows, protocol.dictionary)


class _Work:
    """One cohort's tables being folded: what is told of each child so far, what was made, and what was found."""

    def __init__(self, held: Further, protocol: Protocol, children: dict[str, Told], sheet: Sheet) -> None:
        self.held = held
        self.protocol = protocol
        self.children = children
        self.sheet = sheet
        self.variables = protocol.dictionary.variables
        self.made: dict[str, None] = {}
        self.readers: dict[str, Readers] = {}
        self.findings: list[Finding] = []

    def join(self) -> None:
        """The columns of tables with one row per child, beside the children's or held against them."""
        for name, told in self.held.wide.items():
            given = self.children.get(name)
            if given is not None:
                self.findings += disagreements(given, told, self.variables[name])
                told = Told(given.sheet, agreed(given, told, self.variables[name]), given.rows)
            self._put(name, told)

    def make(self, name: str, rule: PredictorRule, place: str) -> None:
        """One predictor by its rule."""
        if isinstance(rule, JoinRule):
            if name not in self.held.wide:
                self._lacks(rule.table, f"a column {name} in the table {rule.table}", place)
            return
        table = "measures" if isinstance(rule, MeasureRule) else rule.table
        tables = (table, "corridors") if isinstance(rule, AnchorRule) and rule.fold.by_margin else (table,)
        if not self._has(tables, place):
            return
        if isinstance(rule, MeasureRule):
            self._measure(name, rule)
        else:
            self._anchors(name, rule)

    def found(self, ends: Ends) -> Iterator[Finding]:
        """Everything, each once."""
        sheets = (rows.sheet.sorted() for rows in self.held.long.values())
        own = (*self.findings, *(finding for held in sheets for finding in held), *ends.findings)
        yield from dict.fromkeys((*self.sheet.sorted(), *own))

    def _has(self, tables: Iterable[str], place: str) -> bool:
        absent = [table for table in dict.fromkeys(tables) if table not in self.held.long]
        for table in absent:
            self._lacks(table, f"a sheet or a file named {table}, with rows", place)
        return not absent

    def _lacks(self, table: str, accepted: str, place: str) -> None:
        there = ", ".join((*self.held.long, *dict.fromkeys(told.sheet for told in self.held.wide.values())))
        found = f"nothing that it asks for of the table {table}; further tables with rows: {there or 'none'}"
        self.findings.append(Finding(self.protocol.name, None, place, found, accepted, Severity.ERROR, "from_rows"))

    def _lacking(self, rows: Long, needed: Iterable[str]) -> bool:
        absent = [name for name in needed if name not in rows.columns]
        for name in absent:
            rows.sheet.column(name, "no such column", f"a column {name}", "needed_column")
        return bool(absent)

    def _measure(self, name: str, rule: MeasureRule) -> None:
        rows = self.held.long["measures"]
        if self._lacking(rows, measures.NEEDED):
            return
        codes = (self.variables[measures.MODALITY].codes, self.variables[measures.POSITION].codes)
        made = measures.measured(rows, rule, len(self.sheet), codes)
        self.findings += measures.said(name, rows, rule, made)
        if made.readers is not None:
            self.readers[name] = made.readers
        within = HALF * self.variables[name].resolution
        if name in self.children and rule.of == name:
            self._compare_readings(name, rows, made, within)
        self._replace(name, Told(rows.sheet.name, made.values, np.zeros(len(self.sheet), dtype=np.intp)))

    def _compare_readings(self, name: str, rows: Long, made: measures.Measured, within: float) -> None:
        """A value among the children's must lie among the readings that make the new one."""
        given, zeros = self.children[name], np.zeros(len(self.sheet), dtype=np.intp)
        nearest = np.clip(given.column.values, made.low, made.high)
        states = np.where(made.values.present & given.column.present, given.column.states, made.values.states)
        values = np.where(given.column.present & made.values.present, nearest, made.values.values)
        told = Told(rows.sheet.name, column(values, states), zeros)
        self.findings += disagreements(given, told, self.variables[name], within=within + 1e-9)

    def _anchors(self, name: str, rule: AnchorRule) -> None:
        rows = self.held.long[rule.table]
        lacking = self._lacking(rows, anchors.needed_columns(rule))
        if lacking or self._without_ends(rule):
            return
        columns = {each: told.column for each, told in self.children.items()}
        made = anchors.folded(self.held.long, rule, columns, self.variables, self.variables[name])
        told = Told(rows.sheet.name, made, np.zeros(len(self.sheet), dtype=np.intp))
        if name in self.children:
            within = HALF * self.variables[name].resolution
            self.findings += disagreements(self.children[name], told, self.variables[name], within=within)
        self._replace(name, told)

    def _without_ends(self, rule: AnchorRule) -> bool:
        names = [] if rule.end is None else [anchors.UPPER, anchors.LOWER]
        if rule.end in (End.UPPER, End.LOWER):
            names = [anchors.UPPER if rule.end is End.UPPER else anchors.LOWER]
        names = [(self.variables[name].deed or name) if rule.done else name for name in names]
        absent = [name for name in names if name not in self.children]
        for name in absent:
            self.sheet.column(name, "no such column", f"a column {name}, for the ends of constructs", "needed_column")
        return bool(absent)

    def _replace(self, name: str, told: Told) -> None:
        """What rows make stands; of a child without rows a word for why there is no value stays, a value is said."""
        given = self.children.get(name)
        if given is not None:
            only = int(np.count_nonzero(given.column.present & told.column.missing))
            if only:
                found = f"{only} children have a value in {given.sheet} and no row that makes one"
                accepted = "rows for them, or a protocol without from; until then their value is missing"
                self.findings.append(Finding(told.sheet, None, name, found, accepted, Severity.WARNING, "rows_lacking"))
            states = np.where(told.column.missing & ~given.column.present, given.column.states, told.column.states)
            told = replace(told, column=column(told.column.values, states))
        self._put(name, told)

    def _put(self, name: str, told: Told) -> None:
        self.children[name] = told
        self.made[name] = None
