"""What became of each child: statuses and times that must fit together, and outcomes that follow from events."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.sheet import Sheet, rows_where
from riskmodel.cases.table import Column, Floats, column
from riskmodel.dictionary.expand import STATUS_LEVELS, date_of, time_of
from riskmodel.dictionary.model import Dictionary, Kind, Role
from riskmodel.errors import Severity

NO, YES, UNKNOWN = 0, 1, 2  # places in STATUS_LEVELS
NO_END = "none"

Marks = NDArray[np.bool_]
Columns = dict[str, Column]

_SAME_MONTHS = 0.5
_SAME_DAY_MONTHS = 0.05  # a day is 0.03, and times are often written with one decimal


@dataclass(frozen=True, slots=True)
class End:
    """A status and its months, for n children. A time may stand only where the thing happened."""

    name: str
    status: Column
    months: Column

    @property
    def happened(self) -> Marks:
        """(n,) whether it did."""
        held: Marks = self.status.present & (self.status.values == YES)
        return held

    @property
    def ruled_out(self) -> Marks:
        """(n,) whether it is said not to have happened."""
        held: Marks = self.status.present & (self.status.values == NO)
        return held


def complete_ends(columns: Mapping[str, Column], dictionary: Dictionary, sheet: Sheet) -> Columns:
    """The columns with the events that another end supplies and the outcomes that events make, all held together."""
    out = dict(columns)
    for name in _other_ends(out, dictionary):
        _supply(name, out, dictionary, sheet)
    for name in _told(out, dictionary):
        _check_times(end_of(name, out), _seen_until(name, out, dictionary), sheet)
    for outcome in dictionary.outcomes.values():
        if outcome.first_of != (outcome.name,):
            _from_events(outcome.name, outcome.first_of, out, sheet)
    for outcome in dictionary.outcomes.values():
        seen = out.get(time_of(outcome.seen_until))
        if outcome.name in out and seen is not None:
            _warn_unseen(end_of(outcome.name, out), seen, time_of(outcome.seen_until), sheet)
    return out


def end_of(name: str, columns: Mapping[str, Column]) -> End:
    """Status and months of an event or outcome; whichever column is absent is missing throughout."""
    either = columns[name] if name in columns else columns[time_of(name)]
    absent = column(np.full(len(either.values), np.nan))
    return End(name, columns.get(name, absent), columns.get(time_of(name), absent))


def _told(columns: Mapping[str, Column], dictionary: Dictionary) -> Iterator[str]:
    """Events and outcomes that a column speaks of."""
    for name in dict.fromkeys((*dictionary.events, *dictionary.outcomes)):
        if name in columns or time_of(name) in columns:
            yield name


def _other_ends(columns: Mapping[str, Column], dictionary: Dictionary) -> Iterator[str]:
    """Level columns whose levels name events: the first of them that ended the child's course."""
    for name, variable in dictionary.variables.items():
        if variable.role is not Role.EVENT or name not in columns:
            continue
        own = name in dictionary.events or name in dictionary.outcomes
        names_events = variable.kind is Kind.LEVEL and any(code in dictionary.events for code in variable.codes)
        if names_events and not own:
            yield name


def _supply(name: str, out: Columns, dictionary: Dictionary, sheet: Sheet) -> None:
    """Events from the level that names them: yes where it does, no where it names another end or none."""
    held, months = out[name], end_of(name, out).months
    codes = dictionary.variables[name].codes
    ended = held.present & (held.values != (codes.index(NO_END) if NO_END in codes else -1))
    _need_time(name, ended, months, sheet)
    for code in codes:
        if code not in dictionary.events:
            continue
        here = held.present & (held.values == codes.index(code))
        status = column(np.where(held.present, np.where(here, YES, NO), np.nan))
        supplied = End(code, status, column(np.where(here, months.values, np.nan)))
        if code in out or time_of(code) in out:
            supplied = _agreed(end_of(code, out), supplied, name, sheet)
        out[code], out[time_of(code)] = supplied.status, supplied.months


def _agreed(given: End, other: End, source: str, sheet: Sheet) -> End:
    """The end as given, filled where it is blank; where both speak they must say the same."""
    words = [level.code for level in STATUS_LEVELS]
    both = given.status.present & other.status.present
    for row in rows_where(both & (given.status.values != other.status.values)):
        found = f"{words[int(given.status.values[row])]}, but {source} says {words[int(other.status.values[row])]}"
        sheet.cell(row, given.name, found, f"what {source} says, or one of the two only", "ends_disagree")
    apart = np.abs(given.months.values - other.months.values) > _SAME_MONTHS
    for row in rows_where(given.happened & other.happened & apart):
        found = f"{given.months.values[row]:.1f} months, but {source} says {other.months.values[row]:.1f}"
        sheet.cell(row, time_of(given.name), found, f"what {source} says, or one of the two only", "ends_disagree")
    return End(given.name, given.status.filled_from(other.status), given.months.filled_from(other.months))


def _need_time(name: str, happened: Marks, months: Column, sheet: Sheet) -> None:
    for row in rows_where(happened & ~months.present):
        accepted = f"months from the operation, or a date in {date_of(name)}"
        sheet.cell(row, time_of(name), "nothing, though it happened", accepted, "time_missing")


def _check_times(end: End, seen: tuple[str, Floats] | None, sheet: Sheet) -> None:
    """A time stands with a yes and only there, lies after the operation, and not after the end of follow-up."""
    _need_time(end.name, end.happened, end.months, sheet)
    for row in rows_where(end.months.present & ~end.happened):
        found = f"{end.months.values[row]:g} months, though {end.name} is not yes"
        sheet.cell(row, time_of(end.name), found, f"nothing, or {end.name} = yes", "time_without_event")
    for row in rows_where(end.months.present & (end.months.values <= 0)):
        found = f"{end.months.values[row]:g} months"
        sheet.cell(row, time_of(end.name), found, "more than 0 months from the operation", "not_after_operation")
    if seen is None:
        return
    name, months = seen
    for row in rows_where(end.months.present & (end.months.values > months + _SAME_DAY_MONTHS)):
        found = f"{end.months.values[row]:.1f} months, but {name} is {months[row]:.1f}"
        sheet.cell(row, time_of(end.name), found, f"at most {name}, in months", "after_last_seen")


def _seen_until(name: str, columns: Mapping[str, Column], dictionary: Dictionary) -> tuple[str, Floats] | None:
    """The time of follow-up that an event or outcome cannot lie after; without one of its own, the latest of all."""
    own = [held for held in dictionary.outcomes.values() if name == held.name or name in held.first_of]
    names = [time_of(held.seen_until) for held in own] or [
        held.name for held in dictionary.variables.values() if held.role is Role.SEEN_UNTIL
    ]
    held = [(each, columns[each].values) for each in dict.fromkeys(names) if each in columns]
    if not held:
        return None
    return " and ".join(each for each, _ in held), np.fmax.reduce([months for _, months in held])


def _from_events(name: str, parts: tuple[str, ...], out: Columns, sheet: Sheet) -> None:
    """An outcome from its events: the first that happened; a no only where each of them is said not to have."""
    ends = [end_of(part, out) for part in parts if part in out or time_of(part) in out]
    if not ends:
        return
    absent = [part for part in parts if part not in out]
    if absent and name not in out:
        found = f"no column for {', '.join(absent)}"
        accepted = f"each event of {name}, or {name} itself: without them a child with none of the others is not known"
        sheet.column(name, found, accepted, "events_absent", Severity.WARNING)
    made = End(name, *_made(ends, complete=not absent))
    if name in out or time_of(name) in out:
        made = _agreed(end_of(name, out), made, "its events", sheet)
    out[name], out[time_of(name)] = made.status, made.months


def _made(ends: list[End], *, complete: bool) -> tuple[Column, Column]:
    happened = np.any([end.happened for end in ends], axis=0)
    ruled_out = np.all([end.ruled_out for end in ends], axis=0) & complete
    unknown = np.any([end.status.values == UNKNOWN for end in ends], axis=0)
    status = np.select([happened, ruled_out, unknown], [YES, NO, UNKNOWN], default=np.nan)
    first = np.fmin.reduce([np.where(end.happened, end.months.values, np.nan) for end in ends])
    return column(status), column(np.where(happened, first, np.nan))


def _warn_unseen(end: End, seen: Column, name: str, sheet: Sheet) -> None:
    for row in rows_where(end.ruled_out & ~seen.present):
        accepted = f"{name}: without it this no holds until nobody knows when, and the child is left out"
        sheet.cell(row, end.name, f"no, with nothing in {name}", accepted, "no_follow_up", Severity.WARNING)
