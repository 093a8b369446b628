"""One text as the value of one variable."""

import re
from collections.abc import Sequence
from datetime import date

from riskmodel.cases.cells import NO_FLAG, accepted, reader
from riskmodel.dictionary.model import Kind, Role
from riskmodel.dictionary.names import nearest
from riskmodel.tables import as_text
from training.registry.cells import RegistryCell, is_number, plain, text_of
from training.registry.mapping.model import UNANSWERED, Assignments, ColumnRule, DateRule, Reads
from training.registry.reading.ages import read_age
from training.registry.reading.dates import Day, Known, read_date, read_date_cell, read_number_as_date
from training.registry.reading.doubt import Doubt
from training.registry.reading.held import Held, Setting
from training.registry.reading.numbers import Number, read_number, scaled
from training.registry.targets import Target

MISSING = "missing"
# Days that stand in files where nobody typed a day: the starts of the two spreadsheet calendars and of Unix time.
# Common practice, no source.
PLACEHOLDERS = frozenset(
    date.fromisoformat(day) for day in ("1899-12-30", "1899-12-31", "1900-01-01", "1904-01-01", "1970-01-01")
)
_SERIAL = re.compile(r"\d{5}(?:\.\d+)?")


def empty(text: str, rule: ColumnRule, setting: Setting, names: Sequence[str] | None = None) -> tuple[Held, ...] | None:
    """What the cell says about why there is no value; None when its text is no empty word of the map."""
    word = plain(text)
    said = rule.empty.get(word, setting.empty.get(word)) if word else None
    if said is None or word in rule.codes:
        return None
    if said == UNANSWERED:
        raise Doubt('"missing" or a state after this word in the map', "unanswered")
    value = "" if said == MISSING else said
    return tuple(Held(name, value, "empty word") for name in (rule.to if names is None else names))


def read_day(cell: RegistryCell, rule: DateRule, setting: Setting) -> Day | None:
    """A cell as a date that can be true.

    Raises
    ------
    Doubt
        When it is no date, one that files hold where nobody typed any, or one in the future.
    """
    day = _any_day(cell, rule)
    if day is None:
        return None
    if day.known is Known.DAY and day.when in PLACEHOLDERS:
        raise Doubt('a date; for a placeholder, a line for it under empty, such as "1900-01-01" = "missing"', "no_day")
    if day.when > setting.on:
        raise Doubt(f"a date up to {setting.on.isoformat()}", "future_date")
    return day


def _any_day(cell: RegistryCell, rule: DateRule) -> Day | None:
    if isinstance(cell, date):
        return read_date_cell(cell, rule)
    if isinstance(cell, int | float) and is_number(cell):
        return read_number_as_date(float(cell), rule)
    text = text_of(cell)
    return read_number_as_date(float(text), rule) if _SERIAL.fullmatch(text) else read_date(text, rule)


def read_value(text: str, rule: ColumnRule, target: Target, number: float | None = None) -> tuple[Held, ...]:
    """A text (or a number that the spreadsheet holds as one) as the value of the target's variable.

    Raises
    ------
    Doubt
        When the rule does not cover it.
    """
    variable = target.variable
    if plain(text) in rule.codes or text in target.words or _as_joined(text, target):
        return coded(text, rule, target)
    if variable.kind is Kind.FLAGS and rule.separators:
        return _flags(text, rule, target)
    if variable.kind.numeric and not variable.levels:
        return (_number(text, rule, target, number),)
    if variable.kind is Kind.TEXT and variable.role in (Role.KEY, Role.CENTRE):
        return (Held(target.name, text),)
    raise Doubt(_line_for(text, target), "unknown_word")


def _as_joined(text: str, target: Target) -> bool:
    """Whether several flags are written as the cohort's own files write them."""
    return target.variable.kind is Kind.FLAGS and reader(target.variable)(text).rule is None


def coded(text: str, rule: ColumnRule, target: Target) -> tuple[Held, ...]:
    """A word of the map, or a code of the dictionary as it is.

    Raises
    ------
    Doubt
        When the map has a question mark in place of the code.
    """
    meant: Assignments | None = rule.codes.get(plain(text))
    if meant is None:
        return (Held(target.name, _flagged(text, rule)),)
    if any(code == UNANSWERED for _, code in meant):
        raise Doubt(f"a code after this word in the map: {accepted(target.variable)}", "unanswered")
    return tuple(
        Held(name or target.name, code if name else _flagged(code, rule), "" if code == text else "code")
        for name, code in meant
    )


def _flagged(word: str, rule: ColumnRule) -> str:
    """For a column of one flag: the flag for a yes, the word for none for a no."""
    if rule.reads is not Reads.FLAG or rule.flag is None:
        return word
    return {"yes": rule.flag, "no": NO_FLAG}.get(word, word)


def _flags(text: str, rule: ColumnRule, target: Target) -> tuple[Held, ...]:
    """Several words in one cell, each a code, joined as the cohort's files join them."""
    pattern = "|".join(rf"\b{re.escape(sign)}\b" if sign.isalpha() else re.escape(sign) for sign in rule.separators)
    words = [part.strip() for part in re.split(pattern, plain(text)) if part.strip()]
    codes = [part.value for word in words for part in _flag(word, rule, target)]
    said = {code for code in codes if isinstance(code, str)}
    return (Held(target.name, "+".join(code for code in target.variable.codes if code in said), "flags"),)


def _flag(word: str, rule: ColumnRule, target: Target) -> tuple[Held, ...]:
    if word in rule.codes or word in target.variable.codes:
        return coded(word, rule, target)
    raise Doubt(_line_for(word, target), "unknown_word")


def _number(text: str, rule: ColumnRule, target: Target, number: float | None) -> Held:
    unit = target.variable.unit
    if number is not None:
        read = scaled(number, rule.number, unit)
    else:
        read = (read_age if rule.reads is Reads.AGE else read_number)(text, rule.number, unit)
    return _as_held(target.name, read)


def _as_held(name: str, read: Number) -> Held:
    return Held(name, "" if read.value is None else as_text(read.value), read.rule)


def _line_for(text: str, target: Target) -> str:
    close = nearest(plain(text), target.words)
    hint = f' (such as "..." = "{close}")' if close else ""
    return f"{accepted(target.variable)}; or a line for this word under codes{hint}"
