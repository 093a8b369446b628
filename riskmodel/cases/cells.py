"""One cell's text as a value, a word for why there is none, or a fault."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import isfinite, nan

from riskmodel.cases.table import STATE_WORDS, State
from riskmodel.dictionary.coding import YES_NO_WORDS
from riskmodel.dictionary.fields import any_of
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.dictionary.names import suggestion

NO_FLAG = "none"

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}(?:[ T]00:00(?::00)?)?", re.ASCII)
_LISTED_LEVELS = 12


@dataclass(frozen=True, slots=True)
class Reading:
    """What a cell's text means: a value, an empty state, and the fault (rule, what is accepted) or doubt about it."""

    value: float = nan
    state: State = State.PRESENT
    rule: str | None = None
    accepted: str = ""
    doubtful: bool = False


MISSING = Reading(state=State.MISSING)


def reader(variable: Variable) -> Callable[[str], Reading]:
    """The function that reads a trimmed cell of this variable; text is read elsewhere.

    It returns `MISSING` for nothing, a state for one of the words the variable allows, else a value or a fault.
    """
    read_value = _READERS[Kind.LEVEL if variable.kind is Kind.ORDINAL and variable.levels else variable.kind]

    def read(text: str) -> Reading:
        if not text:
            return MISSING
        if text in STATE_WORDS:
            return _state(text, variable)
        return read_value(text, variable)

    return read


def accepted(variable: Variable) -> str:
    """What a cell of the variable may hold, with its unit: for findings, templates and help."""
    return " or ".join([_ACCEPTED.get(variable.kind, _accepted_number)(variable), *variable.states])


def in_range(value: float, variable: Variable) -> Reading:
    """A number that was read, held against the hard and the soft range."""
    if variable.hard and not variable.hard[0] <= value <= variable.hard[1]:
        return _fault("outside_hard", accepted(variable))
    if variable.soft and not variable.soft[0] <= value <= variable.soft[1]:
        low, high = variable.soft
        usual = f"usually {low:g} to {high:g}{_unit(variable)}: please confirm"
        return Reading(value, rule="outside_soft", accepted=usual, doubtful=True)
    return Reading(value)


def _fault(rule: str, told: str) -> Reading:
    return Reading(state=State.MISSING, rule=rule, accepted=told)


def _state(text: str, variable: Variable) -> Reading:
    if text in variable.states:
        return Reading(state=STATE_WORDS[text])
    return _fault("state_not_allowed", f"{accepted(variable)}, or nothing")


def _number(text: str, variable: Variable) -> Reading:
    if not _NUMBER.fullmatch(text) or not isfinite(float(text)):
        hint = " (a point, not a comma)" if _DECIMAL_COMMA.fullmatch(text) else ""
        return _fault("not_a_number", accepted(variable) + hint)
    return in_range(float(text), variable)


def _integer(text: str, variable: Variable) -> Reading:
    held = _number(text, variable)
    if held.state is State.PRESENT and not held.value.is_integer():
        return _fault("not_whole", accepted(variable))
    return held


def _level(text: str, variable: Variable) -> Reading:
    codes = variable.codes
    if text in codes:
        return Reading(float(codes.index(text)))
    return _fault("unknown_level", _one_of(text, codes))


def _yes_no(text: str, variable: Variable) -> Reading:
    if text in YES_NO_WORDS:
        return Reading(float(YES_NO_WORDS.index(text)))
    return _fault("not_yes_no", accepted(variable))


def _flags(text: str, variable: Variable) -> Reading:
    """Codes joined by +, as a bit mask; the word none, alone, is a mask of 0."""
    if text == NO_FLAG:
        return Reading(0.0)
    words, codes = [word.strip() for word in text.split("+")], variable.codes
    strange = next((word for word in words if word not in codes), None)
    if strange is not None:
        return _fault("unknown_level", f"{_one_of(strange, (NO_FLAG, *codes))}, several joined by +")
    if len(set(words)) < len(words):
        return _fault("flag_twice", "each code once, joined by +")
    return Reading(float(sum(1 << codes.index(word) for word in words)))


def ordinal(text: str) -> float:
    """The day, counted from 1 January of year 1, of a date written as YYYY-MM-DD; NaN for any other text."""
    try:
        return float(date.fromisoformat(text[:10]).toordinal()) if _DAY.fullmatch(text) else nan
    except ValueError:  # no such day in the calendar
        return nan


def _date(text: str, variable: Variable) -> Reading:
    day = ordinal(text)
    return Reading(day) if day == day else _fault("not_a_date", accepted(variable))


def _one_of(text: str, codes: tuple[str, ...]) -> str:
    return any_of(codes) if len(codes) <= _LISTED_LEVELS else suggestion(text, codes)


def _unit(variable: Variable) -> str:
    return f" {variable.unit}" if variable.unit else ""


def _accepted_number(variable: Variable) -> str:
    what = "a number" if variable.kind is Kind.NUMBER else "a whole number"
    span = f" from {variable.hard[0]:g} to {variable.hard[1]:g}" if variable.hard else ""
    unit = _unit(variable)
    return f"{what}{span}{unit if span else unit and f' in{unit}'}"


def _accepted_level(variable: Variable) -> str:
    if len(variable.codes) > _LISTED_LEVELS:
        return f"one of the {len(variable.codes)} codes of {variable.name}"
    return any_of(variable.codes)


_READERS: dict[Kind, Callable[[str, Variable], Reading]] = {
    Kind.NUMBER: _number,
    Kind.INTEGER: _integer,
    Kind.ORDINAL: _integer,
    Kind.LEVEL: _level,
    Kind.YES_NO: _yes_no,
    Kind.FLAGS: _flags,
    Kind.DATE: _date,
}
_ACCEPTED: dict[Kind, Callable[[Variable], str]] = {
    Kind.LEVEL: _accepted_level,
    Kind.ORDINAL: lambda variable: (_accepted_level if variable.levels else _accepted_number)(variable),
    Kind.YES_NO: lambda variable: "yes or no",
    Kind.FLAGS: lambda variable: f"{NO_FLAG}, or {_accepted_level(variable)}, several joined by +",
    Kind.DATE: lambda variable: "a date as YYYY-MM-DD",
    Kind.TEXT: lambda variable: "a text",
}
