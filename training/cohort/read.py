"""Reading a cohort under a protocol: the table of children, its checks, derived columns, courses, eligibility."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from riskmodel import derive, tables
from riskmodel.cases import CaseTable, check, with_missing
from riskmodel.dictionary.expand import time_of
from riskmodel.dictionary.model import Dictionary, OutcomeDefinition
from riskmodel.errors import CasesRefused, Finding, Severity, TableRefused, refuse_errors
from riskmodel.tables import RawTable
from training.cohort.courses import can_tell, course_of, events_after_the_end, made_of, plain_course, untold_ends
from training.cohort.eligible import eligible
from training.cohort.model import Cohort, Course
from training.cohort.needed import as_planned, needed
from training.cohort.predictors import look_at_predictors
from training.cohort.rows import Folded, fold, further, told_by_rows
from training.protocol import Protocol

CHILDREN = "children"


def read(path: Path | str, protocol: Protocol) -> Cohort:
    """Read the cohort that a protocol asks for.

    Parameters
    ----------
    path : a CSV file, a workbook, or a folder of CSV files; the table `children` has one row per child, those beside
        it may tell more of them
    protocol : says which columns are needed, what is derived from them, who is eligible, and what the outcome is

    Raises
    ------
    TableRefused
        When the file cannot be read as a table.
    CasesRefused
        With every finding at once: cells that cannot be true or cannot be read, columns that are missing, events
        later than the last time the child was seen or than an end that rules them out, tables that contradict each
        other, nobody eligible.
    """
    held = tables.read(path)
    raw = children(held)
    extended = derive.extended(protocol.dictionary, protocol.derive)
    checked, folded = _checked(raw, held, protocol)
    planned = as_planned(checked, protocol)
    cases = derive.apply(planned, protocol.derive, protocol.dictionary)
    told = tuple(outcome for outcome in _definitions(protocol) if can_tell(cases, outcome))
    findings = list(folded.findings)
    findings += derive.contradictions(planned, protocol.derive, protocol.dictionary, raw.sheet, raw.numbers)
    for outcome in told:
        findings += events_after_the_end(cases, extended, outcome, raw.sheet, raw.numbers)
        findings += untold_ends(cases, outcome, raw.sheet) if outcome.name == protocol.outcome.name else ()
    refuse_errors(findings, CasesRefused)
    whole = _cohort(cases, extended, protocol, told)
    kept = eligible(whole, protocol.cohort.only)
    findings += look_at_predictors(kept, protocol, raw.sheet)
    told_all = refuse_errors(findings, CasesRefused)
    return replace(kept, made_of=_made_of(kept, protocol), readers=folded.readers, findings=told_all)


def _checked(raw: RawTable, held: Sequence[RawTable], protocol: Protocol) -> tuple[CaseTable, Folded]:
    """The children with what the further tables tell of them, and the findings of all tables.

    What is still lacking is missing throughout, so that everything else can be looked at too.
    """
    more = further(raw, held, protocol.dictionary)
    elsewhere = told_by_rows(more, protocol)
    asked = [name for name in needed(protocol, (*raw.header, *more.wide)) if name not in elsewhere]
    cases, found = check(raw, protocol.dictionary, needed=asked)
    folded = fold(more, cases, protocol, raw.sheet, raw.numbers)
    whole = with_missing(cases.with_columns(folded.columns), _needed_of_rows(protocol, elsewhere))
    return whole, replace(folded, findings=tuple(dict.fromkeys((*found, *more.findings, *folded.findings))))


def _needed_of_rows(protocol: Protocol, elsewhere: Sequence[str]) -> Iterator[str]:
    """Names that rows were to make, with the time of an outcome."""
    for name in elsewhere:
        yield name
        if name in protocol.dictionary.outcomes:
            yield time_of(name)


def children(held: Sequence[RawTable]) -> RawTable:
    """The table of children: the only table, or the one of that name.

    Raises
    ------
    TableRefused
        When there are several tables and none, or more than one, is named `children`.
    """
    named = [table for table in held if table.sheet.lower() == CHILDREN]
    if len(held) == 1 or len(named) == 1:
        return named[0] if named else held[0]
    found = "tables named " + ", ".join(table.sheet for table in held)
    accepted = f"one table named {CHILDREN} among them"
    raise TableRefused([Finding("", None, None, found, accepted, Severity.ERROR, "no_children_table")])


def _definitions(protocol: Protocol) -> Iterator[OutcomeDefinition]:
    """Every outcome of the dictionary; the protocol's own with the ends that it lets compete as well."""
    for outcome in protocol.dictionary.outcomes.values():
        yield protocol.outcome.extend(outcome)


def _cohort(
    cases: CaseTable, dictionary: Dictionary, protocol: Protocol, told: tuple[OutcomeDefinition, ...]
) -> Cohort:
    """Everyone, before anybody is left out."""
    definitions = {outcome.name: course_of(cases, dictionary, outcome) for outcome in told}
    rules, places = protocol.outcome, protocol.cohort
    if rules.column is not None:
        held: Course = plain_course(cases, dictionary, rules.column, rules.event_value or "")
    else:
        held = definitions[rules.name or ""]
    return Cohort(
        cases=cases,
        course=held,
        dictionary=dictionary,
        centre=None if places.centre is None else cases[places.centre],
        year=None if places.year is None else cases[places.year],
        definitions=definitions,
    )


def _made_of(cohort: Cohort, protocol: Protocol) -> Mapping[str, int]:
    if protocol.outcome.name is None:
        return {}
    outcome = cohort.dictionary.outcomes[protocol.outcome.name]
    return made_of(cohort.cases, cohort.dictionary, outcome, cohort.course)
