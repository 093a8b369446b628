"""Dates into months from the operation, ages and the year of the operation: no date leaves the registry."""

from collections.abc import Iterator
from datetime import date

import numpy as np

from riskmodel.cases.times import months_between
from riskmodel.dictionary.expand import year_of
from riskmodel.dictionary.model import Variable
from riskmodel.tables import as_text
from training.registry.reading.dates import Day, Known
from training.registry.reading.units import factor
from training.registry.tidying.children import Child
from training.registry.tidying.notes import HIDDEN
from training.registry.tidying.rows import Entry
from training.registry.tidying.work import Work

_MONTHS_DIGITS = 2  # a hundredth of a month is a third of a day: no two days fall together
_AGES_AGREE_YEARS = 1.0

Values = dict[str, str]


def told(child: Child, operation: date | None, work: Work) -> Values:
    """The child's values as texts for the cohort, by variable; changes on the way are written down.

    `operation`: the day that months are counted from.
    """
    out: Values = {}
    for name, entry in child.values.items():
        value = entry.held.value
        if isinstance(value, Day):
            own = name == work.operation
            text = _year(entry, value, work) if own else _months_text(entry, value, operation, work)
            variable = year_of(name) if own else work.known[name].variable.name
        else:
            text, variable = value, name
            _note_text(entry, value, work)
        _put(out, variable, text, entry, work)
    if child.born is not None:
        _age(child, child.born, operation, out, work)
    return {name: value for name, value in out.items() if value}


def _months_text(entry: Entry, value: Day, operation: date | None, work: Work) -> str:
    """A date as months from the operation; nothing when there is none to count from, or it came before."""
    notes = work.notes
    if operation is None:
        accepted = "the date of the operation in the same child's row"
        notes.fault(entry.place, "a date, but none to count from", accepted, "no_origin")
        return ""
    months = _months(operation, value.when)
    before = months < 0 and not _may_be_before(work.known[entry.held.target].variable)
    if before and value.known is not Known.DAY:
        accepted = "a whole date: the middle of what is known lies before the operation"
        notes.fault(entry.place, entry.place.shown, accepted, "before_operation")
        return ""
    if before:
        accepted = f"a date from {operation.isoformat()} on, the day of the operation"
        notes.fault(entry.place, value.when.isoformat(), accepted, "before_operation")
        return ""
    text = as_text(round(months, _MONTHS_DIGITS))
    notes.change(entry.place, text, ", ".join(part for part in (entry.held.rule, "months from the operation") if part))
    if value.known is not Known.DAY:
        said = f"{entry.place.shown}, of which only the {value.known.value} is known"
        notes.warn(entry.place, said, "a whole date, if there is one", "part_of_a_date")
    return text


def _may_be_before(variable: Variable) -> bool:
    """Whether a time may lie before the operation: that of a measurement may."""
    return variable.hard is not None and variable.hard[0] < 0


def _months(first: date, second: date) -> float:
    ends = (np.array([float(day.toordinal())]) for day in (first, second))
    return float(months_between(*ends)[0])


def _put(out: Values, name: str, text: str, entry: Entry, work: Work) -> None:
    held = out.get(name)
    if held and text and held != text:
        found = f"{text} for {name}, but {held} from another column"
        work.notes.fault(entry.place, found, "the same in both, or one of the two", "two_values")
    out[name] = text or held or ""


def _note_text(entry: Entry, value: str, work: Work) -> None:
    if value != entry.place.text:
        became = f"{entry.held.target} = {value}" if entry.shared else value
        work.notes.change(entry.place, became, entry.held.rule or "as text")


def _year(entry: Entry, value: Day, work: Work) -> str:
    rule = ", ".join(part for part in (entry.held.rule, "year of the operation") if part)
    work.notes.change(entry.place, str(value.when.year), rule)
    if value.known is not Known.DAY:
        said = f"{entry.place.shown}, of which only the {value.known.value} is known"
        work.notes.warn(entry.place, said, "a whole date: every time is counted from it", "part_of_a_date")
    return str(value.when.year)


def _age(child: Child, born: Entry, operation: date | None, out: Values, work: Work) -> None:
    """The age at the operation from the date of birth, held against the age that is written."""
    variable, notes = work.known[born.held.target].variable, work.notes
    if operation is None or not isinstance(born.held.value, Day):
        notes.fault(born.place, HIDDEN, "the date of the operation in the same child's row", "no_origin")
        return
    months = _months(born.held.value.when, operation)
    if months < 0:
        notes.fault(born.place, HIDDEN, "a date of birth before the operation", "born_after_operation")
        return
    age = months * factor("months", variable.unit)
    text = as_text(float(format(round(age / variable.resolution) * variable.resolution, ".6g")))
    for written in _written_ages(out.get(variable.name)):
        if abs(written - age) >= _AGES_AGREE_YEARS * factor("years", variable.unit):
            found = f"{written:g} {variable.unit}, but {text} from the date of birth"
            place = child.values[variable.name].place
            notes.fault(place, found, "an age that agrees with the date of birth to a year", "two_ages")
    out[variable.name] = text
    notes.change(born.place, text, born.held.rule)


def _written_ages(text: str | None) -> Iterator[float]:
    if text:
        try:
            yield float(text)
        except ValueError:  # a word for why there is no age: the date of birth gives one
            return
