"""Reading a cohort under a protocol: the table of children, its checks, derived columns, courses, eligibility."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from riskmodel import derive, tables
from riskmodel.cases import CaseTable, check
from riskmodel.dictionary.model import Dictionary, OutcomeDefinition
from riskmodel.errors import CasesRefused, Finding, Severity, TableRefused, refuse_errors
from riskmodel.tables import RawTable
from training.cohort.courses import can_tell, course_of, events_after_the_end, made_of, plain_course, untold_ends
from training.cohort.eligible import eligible
from training.cohort.model import Cohort, Course
from training.cohort.needed import as_planned, needed, predictors_from_rows
from training.cohort.predictors import look_at_predictors
from training.protocol import Protocol

CHILDREN = "children"


def read(path: Path | str, protocol: Protocol) -> Cohort:
    """Read the cohort that a protocol asks for.

    Parameters
    ----------
    path : a CSV file, a workbook, or a folder of CSV files; the table `children` has one row per child
    protocol : says which columns are needed, what is derived from them, who is eligible, and what the outcome is

    Raises
    ------
    TableRefused
        When the file cannot be read as a table.
    CasesRefused
        With every finding at once: cells that cannot be true or cannot be read, columns that are missing, events
        later than the last time the child was seen or than an end that rules them out, nobody eligible.
    """
    raw = children(tables.read(path))
    extended = derive.extended(protocol.dictionary, protocol.derive)
    held, found = check(raw, protocol.dictionary, needed=needed(protocol, raw.header))
    planned = as_planned(held, protocol)
    cases = derive.apply(planned, protocol.derive, protocol.dictionary)
    told = tuple(outcome for outcome in _definitions(protocol) if can_tell(cases, outcome))
    findings = [*predictors_from_rows(protocol), *found]
    findings += derive.contradictions(planned, protocol.derive, protocol.dictionary, raw.sheet, raw.numbers)
    for outcome in told:
        findings += events_after_the_end(cases, extended, outcome, raw.sheet, raw.numbers)
        findings += untold_ends(cases, outcome, raw.sheet) if outcome.name == protocol.outcome.name else ()
    refuse_errors(findings, CasesRefused)
    whole = _cohort(cases, extended, protocol, told)
    kept = eligible(whole, protocol.cohort.only)
    findings += look_at_predictors(kept, protocol, raw.sheet)
    return replace(kept, made_of=_made_of(kept, protocol), findings=refuse_errors(findings, CasesRefused))


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
