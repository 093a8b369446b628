"""What is written once and means several columns: both sides, plan and deed, an event and its time."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from riskmodel.dictionary.model import SIDES, Event, Kind, Level, Moment, OutcomeDefinition, Role, Variable

MONTHS = "_months"
DATE = "_date"
YEAR = "_year"

STATUS_LEVELS = (Level("no", "No"), Level("yes", "Yes"), Level("unknown", "Not known"))
_LONGEST_FOLLOW_UP_MONTHS = 1200.0


def written_out(variable: Variable) -> Iterator[Variable]:
    """The variable itself, or its two sides (right first); then the same for its deed."""
    yield from _sides(variable)
    if variable.deed is not None:
        yield from _sides(_deed(variable, variable.deed))


def time_of(stem: str) -> str:
    """Name of the column of months for an event, an outcome or a time of follow-up."""
    return stem + MONTHS


def date_of(months: str) -> str:
    """Name of the column of dates that may stand in place of a column of months."""
    return months.removesuffix(MONTHS) + DATE


def year_of(date: str) -> str:
    """Name of the column that keeps the year of a date."""
    return date.removesuffix(DATE) + YEAR


def status_and_time(what: Event | OutcomeDefinition) -> tuple[Variable, Variable]:
    """Columns of an event or outcome: no, yes or unknown, and the months from the operation."""
    core = isinstance(what, OutcomeDefinition) and what.core
    how = what.how if isinstance(what, Event) else what.text
    status = Variable(
        name=what.name,
        label=what.label,
        kind=Kind.LEVEL,
        moment=Moment.FOLLOW_UP,
        levels=STATUS_LEVELS,
        role=Role.EVENT,
        how=how,
        core=core,
    )
    time = Variable(
        name=time_of(what.name),
        label=f"{what.label}: time from the operation",
        kind=Kind.NUMBER,
        moment=Moment.FOLLOW_UP,
        unit="months",
        hard=(0.0, _LONGEST_FOLLOW_UP_MONTHS),
        resolution=0.1,
        role=Role.EVENT,
        how="calendar months from the operation to the day it was found",
        core=core,
    )
    return status, time


def clashes(names: Iterable[str]) -> tuple[str, ...]:
    """Names that stand more than once, each said once."""
    seen: set[str] = set()
    twice: dict[str, None] = {}
    for name in names:
        if name in seen:
            twice[name] = None
        seen.add(name)
    return tuple(twice)


def _deed(planned: Variable, pattern: str) -> Variable:
    """What was done, known from the theatre on; `pattern` still holds {side} where the plan has sides."""
    return replace(
        planned,
        name=pattern if planned.sides is None else planned.name,
        label=f"{planned.label}, as done",
        moment=Moment.THEATRE,
        sides=None if planned.sides is None else pattern,
        deed=None,
        core=False,
        norms=(),
    )


def _sides(variable: Variable) -> Iterator[Variable]:
    if variable.sides is None or "{side}" not in variable.sides:
        yield variable
        return
    for side in SIDES:
        yield replace(
            variable,
            name=variable.sides.replace("{side}", side),
            label=f"{variable.label}, {side}",
            side=side,
            deed=variable.deed and variable.deed.replace("{side}", side),
        )
