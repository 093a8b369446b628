"""The outcome from rows where the protocol says so, and what further tables and the children's say of the same end."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from riskmodel.cases import Column, column
from riskmodel.cases.ends import NO, UNKNOWN, YES, complete_ends
from riskmodel.cases.sheet import Sheet
from riskmodel.cases.table import Floats
from riskmodel.dictionary.expand import time_of
from riskmodel.dictionary.model import Dictionary, OutcomeDefinition
from riskmodel.errors import Finding, Severity
from training.cohort.rows import events, measures
from training.cohort.rows.change import changed
from training.cohort.rows.further import Further, Long
from training.cohort.rows.happened import Happened, against, merged
from training.cohort.rows.told import Told
from training.protocol import Protocol
from training.protocol.parse_rows import outcome_rule
from training.protocol.row_rules import ChangeRule, EventRule

Children = Mapping[str, Told]


@dataclass(frozen=True, slots=True)
class Ends:
    """Columns of ends made from rows, and what was found."""

    columns: Mapping[str, Column] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def look_at_ends(held: Further, protocol: Protocol, children: Children, sheet: Sheet) -> Ends:
    """The outcome's columns if the protocol makes them from rows; else none, and the tables are only compared."""
    rows, name = protocol.outcome.from_rows, protocol.outcome.name
    if rows is None or name is None:
        return Ends({}, tuple(_compared(held, protocol.dictionary, children, ())))
    outcome = protocol.outcome.extend(protocol.dictionary.outcomes[name])
    rule = outcome_rule(rows, protocol.dictionary.variables)
    lacking = tuple(_lacking(held, protocol, rule))
    if lacking:
        return Ends({}, lacking)
    if isinstance(rule, ChangeRule):
        made = [changed(held.long["measures"], rule, name, len(sheet))]
        without = np.full(len(sheet), np.nan)
    else:
        all_made = _happened(held.long["events"], outcome, protocol.dictionary, len(sheet))
        made = [_first_end(each, children, protocol.dictionary) for each in all_made]
        without = np.full(len(sheet), NO if rule.without == "no" else UNKNOWN, dtype=np.float64)
    findings = [finding for each in made for finding in _against(each, children, whole=True)]
    findings += _compared(held, protocol.dictionary, children, [each.name for each in made])
    columns = _columns(made, children, without, outcome)
    if not any(finding.severity is Severity.ERROR for finding in findings):
        columns = _completed(columns, children, protocol.dictionary, sheet)
    return Ends(columns, tuple(findings))


def _lacking(held: Further, protocol: Protocol, rule: EventRule | ChangeRule) -> Iterator[Finding]:
    name, needed = ("events", events.NEEDED) if isinstance(rule, EventRule) else ("measures", measures.NEEDED)
    rows = held.long.get(name)
    if rows is None:
        found, accepted = f"no table {name} with rows", f"a sheet or a file named {name}"
        yield Finding(protocol.name, None, "outcome.from", found, accepted, Severity.ERROR, "from_rows")
        return
    for each in needed:
        if each not in rows.columns:
            accepted = f"a column {each}"
            yield Finding(rows.sheet.name, None, each, "no such column", accepted, Severity.ERROR, "needed_column")


def _happened(rows: Long, outcome: OutcomeDefinition, dictionary: Dictionary, count: int) -> Iterator[Happened]:
    """Each event of the outcome, each that competes, and the outcome as the first of its own."""
    for name in dict.fromkeys((*outcome.first_of, *outcome.competes)):
        if name != outcome.name:
            yield events.first_of(rows, name, (name,), dictionary, count)
    yield events.first_of(rows, outcome.name, outcome.first_of, dictionary, count)


def _compared(
    held: Further, dictionary: Dictionary, children: Children, made: tuple[str, ...] | list[str]
) -> Iterator[Finding]:
    """What the events say of every end that the children's table tells and that is not made from rows."""
    rows = held.long.get("events")
    if rows is None or not set(events.NEEDED) <= rows.columns.keys():
        return
    kinds: dict[str, tuple[str, ...]] = {name: (name,) for name in dictionary.events}
    kinds |= {name: outcome.first_of for name, outcome in dictionary.outcomes.items()}
    for name, of in kinds.items():
        if name in children and name not in made:
            happened = events.first_of(rows, name, of, dictionary, len(children[name].rows))
            yield from _against(_first_end(happened, children, dictionary), children, whole=False)


def _first_end(made: Happened, children: Children, dictionary: Dictionary) -> Happened:
    """Without what happened after another end of the child's course: a column of ends tells the first of them only."""
    months, rows = made.months.copy(), made.rows.copy()
    for name, told in children.items():
        codes = dictionary.variables[name].codes
        if made.name in codes and name not in (*dictionary.events, *dictionary.outcomes):
            ended = _told(children, time_of(name), len(months)).values
            other = told.column.present & (told.column.values != codes.index(made.name)) & (ended < months)
            months[other], rows[other] = np.nan, 0
    return replace(made, months=months, rows=rows)


def _against(made: Happened, children: Children, *, whole: bool) -> Iterator[Finding]:
    status = children.get(made.name)
    if status is not None:
        yield from against(made, status, _told(children, time_of(made.name), len(made.months)), whole=whole)


def _columns(
    made: list[Happened], children: Children, without: Floats, outcome: OutcomeDefinition
) -> dict[str, Column]:
    """Status and months of each; of whom the children's table tells the outcome, its events follow that."""
    count = len(without)
    told = _told(children, outcome.name, count)
    ruled = np.where(told.present & (told.values != YES), told.values, without)
    columns: dict[str, Column] = {}
    for each in made:
        status, months = _told(children, each.name, count), _told(children, time_of(each.name), count)
        rest = ruled if each.name in outcome.first_of else without
        columns[each.name], columns[time_of(each.name)] = merged(each, status, months, rest)
    return columns


def _told(children: Children, name: str, count: int) -> Column:
    return children[name].column if name in children else column(np.full(count, np.nan))


def _completed(
    columns: Mapping[str, Column], children: Children, dictionary: Dictionary, sheet: Sheet
) -> dict[str, Column]:
    """The ends held together with the rest of what is told of the children; the findings go to their sheet."""
    whole = {name: told.column for name, told in children.items()} | dict(columns)
    done = complete_ends(whole, dictionary, sheet)
    return {name: held for name, held in done.items() if name in columns or name not in children}
