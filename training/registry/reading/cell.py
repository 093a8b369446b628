"""One cell as its column's rule says."""

import re
from datetime import date, datetime

from riskmodel.dictionary.expand import DATE
from training.registry.cells import Broken, RegistryCell, is_day, is_number, plain, text_of
from training.registry.mapping.model import ColumnRule, Order, Reads
from training.registry.reading.doubt import Doubt
from training.registry.reading.held import Held, Setting
from training.registry.reading.sides import split_sides
from training.registry.reading.spans import read_span
from training.registry.reading.value import coded, empty, read_day, read_value

IN_CELL = "in_cell"
PART_OF_A_DATE = "part of a date"
YEAR = re.compile(r"[\s(,;]*(?:\b(?:at|in|on|by|as of)\s+)?\b((?:19|20)\d{2})\b\)?")


def read_cell(cell: RegistryCell, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    """Every value that the cell gives; none for an empty cell, "" for a word that stands for nothing.

    Raises
    ------
    Doubt
        When the cell is not covered by the rule.
    """
    said = empty(text_of(cell), rule, setting)
    if said is not None:
        return said
    if isinstance(cell, Broken):
        raise Doubt("a formula with a result, or a line for this word under empty", "broken_formula")
    if not text_of(cell):
        return ()
    if rule.reads is Reads.BIRTH_DATE:
        return _birth(cell, rule, setting)
    if setting.targets[rule.to[0]].dated:
        day = read_day(cell, rule.date, setting)
        return (Held(rule.to[0], "" if day is None else day, day.rule if day else PART_OF_A_DATE),)
    if is_day(cell):
        cell, turned = _turned_back(cell, rule), ("typed as text before it became a date",)
        return tuple(_with_rule(held, turned) for held in _read(cell, rule, setting))
    return _read(cell, rule, setting)


def _read(cell: RegistryCell, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    text = text_of(cell)
    further: tuple[Held, ...] = ()
    whole = rule.codes.get(plain(text))
    said_in_full = whole is not None and (rule.reads in (Reads.VALUE, Reads.AGE) or all(name for name, _ in whole))
    if said_in_full:
        return coded(text, rule, setting.targets[rule.to[0]])
    if rule.question_mark is not None and "?" in text:
        text, further = text.strip(" ?"), (Held(*rule.question_mark, rule="question mark"),)
        cell = text
    if rule.status.as_of is not None:
        return (*_status(text, rule, setting), *further)
    return (*_READERS[rule.reads](cell, rule, setting), *further)


def _plain_value(cell: RegistryCell, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    number = float(cell) if is_number(cell) and isinstance(cell, int | float) else None
    return read_value(text_of(cell), rule, setting.targets[rule.to[0]], number)


def _sides(cell: RegistryCell, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    by_side = {setting.targets[name].variable.side: setting.targets[name] for name in rule.to}
    parts = split_sides(text_of(cell), rule.sides)
    out: list[Held] = []
    for side, target in by_side.items():
        part = parts.get(side or "")
        if part:
            said = empty(part, rule, setting, (target.name,))
            out += said if said is not None else read_value(part, rule, target)
            continue
        code = rule.sides.not_named if part is None else rule.sides.named
        if part == "" and code is None:
            raise Doubt('a value for the side, or named = "CODE" in the map', "no_value")
        if code is not None:
            out.append(Held(target.name, code, "side not named" if part is None else "side named"))
    return tuple(_with_rule(held, ("two sides in one cell",)) for held in out)


def _span(cell: RegistryCell, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    upper, lower = (setting.targets[name] for name in rule.to)
    ends = read_span(text_of(cell), rule, upper.variable.codes)
    return tuple(Held(held.name, code, "span") for held, code in zip((upper, lower), ends, strict=True))


def _birth(cell: RegistryCell, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    day = read_day(cell, rule.date, setting)
    return () if day is None else (Held(rule.to[0], day, "age from the date of birth", born=True),)


def _status(text: str, rule: ColumnRule, setting: Setting) -> tuple[Held, ...]:
    """A status, and the day on which it was true: for the last contact, and for the end itself if it is final."""
    written, rest = rule.status.as_of, text
    if written == IN_CELL:
        found = YEAR.search(text)
        written, rest = (found[1], f"{text[: found.start()]} {text[found.end() :]}".strip()) if found else (None, text)
    held = read_value(rest, rule, setting.targets[rule.to[0]])
    day = read_day(written, rule.date, setting) if written else None
    if day is None:
        return held
    names = [rule.status.as_of_to] if rule.status.as_of_to else []
    own_day = rule.to[0] + DATE
    if own_day in setting.targets and any(part.value in rule.status.final for part in held):
        names.append(own_day)
    return (*held, *(Held(name, day, "day of the status") for name in names))


def _turned_back(cell: RegistryCell, rule: ColumnRule) -> str:
    """The text that the spreadsheet took for a date."""
    if rule.turned_dates is None or not isinstance(cell, date | datetime):
        accepted = 'no date here; for a text such as 3-4 that became one, turned_dates = "day_first" or "month_first"'
        raise Doubt(f"{accepted} in the map", "turned_into_date")
    parts = (cell.day, cell.month) if rule.turned_dates is Order.DAY_FIRST else (cell.month, cell.day)
    sign = "/" if rule.reads is Reads.AGE else "-"
    return sign.join(map(str, parts))


def _with_rule(held: Held, more: tuple[str, ...]) -> Held:
    return Held(held.target, held.value, ", ".join(part for part in (*more, held.rule) if part), held.born)


_READERS = {
    Reads.VALUE: _plain_value,
    Reads.AGE: _plain_value,
    Reads.FLAG: _plain_value,
    Reads.SPAN: _span,
    Reads.SIDES: _sides,
}
