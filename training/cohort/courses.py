"""From checked columns of events and follow-up to the course of every child under one outcome."""

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import CaseTable, Floats
from riskmodel.dictionary.expand import time_of
from riskmodel.dictionary.model import Dictionary, OutcomeDefinition, Role
from riskmodel.errors import Finding, Severity
from training.cohort.model import Course, Status, course

NEVER = np.inf
SAME_DAY = 0.05  # months: a day is 0.03, and times are written with one decimal
YES, NO, NO_END = "yes", "no", "none"


def can_tell(cases: CaseTable, outcome: OutcomeDefinition) -> bool:
    """Whether the cohort has what tells the outcome: its status and time, and its time of follow-up."""
    return outcome.name in cases and time_of(outcome.seen_until) in cases


def course_of(cases: CaseTable, dictionary: Dictionary, outcome: OutcomeDefinition) -> Course:
    """How each child's course ended under the outcome, and when.

    A child whose status is blank or unknown, or who is free but has no time of follow-up, is unknown: a blank is
    never a no. An end that competes ends the course of a child without the event; leaving the area ends the
    follow-up.
    """
    told = words(cases, dictionary, outcome.name)
    months = _happened(cases, dictionary, outcome.name)
    ended = _competing(cases, dictionary, outcome.competes)
    followed = _followed(cases, dictionary, cases[time_of(outcome.seen_until)].values)
    event = (told == YES) & (months < NEVER)
    competing = (told == NO) & (ended < NEVER)
    free = (told == NO) & ~competing & (followed >= 0)
    status = np.select([event, competing, free], [Status.EVENT, Status.COMPETING, Status.FREE], Status.UNKNOWN)
    return course(status, np.select([event, competing, free], [months, ended, followed], np.nan))


def plain_course(cases: CaseTable, dictionary: Dictionary, column: str, event_value: str) -> Course:
    """The course under a plain yes/no outcome: a column, and the word that counts."""
    told = words(cases, dictionary, column)
    return course(np.select([told == event_value, told != ""], [Status.EVENT, Status.FREE], Status.UNKNOWN))


def events_after_the_end(
    cases: CaseTable, dictionary: Dictionary, outcome: OutcomeDefinition, sheet: str, numbers: tuple[int, ...]
) -> Iterator[Finding]:
    """A finding for each child with the event after an end that rules it out; `numbers` (n,) are rows of the sheet."""
    months = _happened(cases, dictionary, outcome.name)
    for name in outcome.competes:
        ended = _happened(cases, dictionary, name)
        for row in np.flatnonzero((months < NEVER) & (months > ended + SAME_DAY)).tolist():
            found = f"{outcome.name} after {months[row]:.1f} months, but {name} after {ended[row]:.1f}"
            accepted = f"{outcome.name} before {name}, after which it cannot occur"
            column = time_of(outcome.name)
            yield Finding(sheet, numbers[row], column, found, accepted, Severity.ERROR, "event_after_end")


def untold_ends(cases: CaseTable, outcome: OutcomeDefinition, sheet: str) -> Iterator[Finding]:
    """A warning for each competing end that no column tells of: nobody then counts as ended by it."""
    for name in outcome.competes:
        if name not in cases:
            found = f"no column that tells of {name}, which ends the chance of {outcome.name}"
            accepted = (
                f"a column {name}, or another end of follow-up that names it; without one nobody counts as ended by it"
            )
            yield Finding(sheet, None, name, found, accepted, Severity.WARNING, "untold_end")


def made_of(cases: CaseTable, dictionary: Dictionary, outcome: OutcomeDefinition, held: Course) -> Mapping[str, int]:
    """How many children had each event of the outcome as their first; empty where the cohort does not tell."""
    names = [name for name in outcome.first_of if name in cases and name != outcome.name]
    firsts = {name: np.abs(_happened(cases, dictionary, name) - held.timed) <= SAME_DAY for name in names}
    return {name: int(np.count_nonzero((held.status == Status.EVENT) & first)) for name, first in firsts.items()}


def words(cases: CaseTable, dictionary: Dictionary, name: str) -> NDArray[np.str_]:
    """(n,) the codes of a level or yes_no column, "" where there is none."""
    held = cases[name]
    codes = np.array([*(dictionary.variables[name].codes or (NO, YES)), ""])
    return codes[np.where(held.present, held.values, len(codes) - 1).astype(np.intp)]


def _happened(cases: CaseTable, dictionary: Dictionary, name: str) -> Floats:
    """(n,) months to an event, `NEVER` where it did not happen, or nobody says so or when."""
    if name not in cases or time_of(name) not in cases:
        return np.full(len(cases), NEVER)
    months = cases[time_of(name)].values
    return np.where((words(cases, dictionary, name) == YES) & (months > 0), months, NEVER)


def _competing(cases: CaseTable, dictionary: Dictionary, names: Iterable[str]) -> Floats:
    """(n,) months to the first end that competes."""
    first = np.full(len(cases), NEVER)
    for name in names:
        first = np.minimum(first, _happened(cases, dictionary, name))
    return first


def _followed(cases: CaseTable, dictionary: Dictionary, seen: Floats) -> Floats:
    """(n,) months until which a child that stays free is followed: last seen, or gone before that."""
    until = seen
    for name, gone in _censoring(dictionary):
        if name in cases and time_of(name) in cases:
            left = np.isin(words(cases, dictionary, name), gone)
            until = np.fmin(until, np.where(left, cases[time_of(name)].values, NEVER))
    return np.where(np.isnan(seen), np.nan, until)


def _censoring(dictionary: Dictionary) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Columns whose levels name other ends of a course, each with the levels that are no event: they end follow-up."""
    for name, variable in dictionary.variables.items():
        own = name in dictionary.events or name in dictionary.outcomes
        if variable.role is Role.EVENT and not own and any(code in dictionary.events for code in variable.codes):
            yield name, tuple(code for code in variable.codes if code not in dictionary.events and code != NO_END)
