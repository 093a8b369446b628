"""Numbers as people type them: units, bounds, estimates, ranges, commas for points, long dashes for minus."""

import re
from dataclasses import dataclass

from training.registry.cells import dashes, plain
from training.registry.mapping.model import Between, Decimal, NumberRule, Vague
from training.registry.reading.doubt import Doubt
from training.registry.reading.units import factor, known

_AMOUNT = r"[-+]?(?:\d[\d.,]*|[.,]\d+)"
_WRITTEN = re.compile(
    rf"(?P<mark>[<>≤≥~≈]|<=|>=|ca\.?|approx\.?|about|circa)?\s*(?P<first>{_AMOUNT})"
    rf"(?:\s*(?:-|to)\s*(?P<second>{_AMOUNT}))?\s*(?P<unit>[a-z°º]+\.?)?\s*(?P<asked>\?)?"
)
_BELOW, _ABOVE = ("<", "≤", "<="), (">", "≥", ">=")


@dataclass(frozen=True, slots=True)
class Number:
    """A number in the wanted unit, None where the rule makes a vague one missing; `rule` says what was done to it."""

    value: float | None
    rule: str = ""


def read_number(text: str, rule: NumberRule, unit: str) -> Number:
    """Read a cell's text as a number in `unit`.

    >>> read_number("3.5mm", NumberRule(), "mm")
    Number(value=3.5, rule='unit')

    Raises
    ------
    Doubt
        When the text is no number, or is written in a way that the rule says nothing about.
    """
    found = _WRITTEN.fullmatch(plain(dashes(text)))
    if found is None:
        raise Doubt(f"a number in {unit}, or a line for this word under empty" if unit else "a number", "not_a_number")
    first, second = found["first"], found["second"]
    low = _amount(first, rule.decimal)
    value = low if second is None else _between(low, _amount(second, rule.decimal), rule.between)
    value, vague = _vague(value, found["mark"], found["asked"], rule)
    if value is None:
        return Number(None, vague or "range")
    scale, converted = _scale(value, found["unit"], rule, unit)
    parts = (vague, "range" if second else "", converted, _spelling(text, first))
    return Number(rounded(value * scale), ", ".join(part for part in parts if part))


def scaled(value: float, rule: NumberRule, unit: str) -> Number:
    """A number that the spreadsheet holds as one, in the wanted unit.

    Raises
    ------
    Doubt
        When the column's unit cannot be turned into it.
    """
    scale, converted = _scale(value, None, rule, unit)
    return Number(rounded(value * scale), converted)


def rounded(value: float) -> float:
    """Without the last digits that only the arithmetic made: 0.35 cm is 3.5 mm."""
    return float(format(value, ".9g"))


def _amount(text: str, decimal: Decimal) -> float:
    point, comma = "." in text, "," in text
    if (point and comma) or text.count(",") > 1 or text.count(".") > 1:
        raise Doubt("a number with one sign for the decimals and none for thousands", "thousands")
    if comma and decimal is Decimal.POINT:
        raise Doubt('a decimal point, or decimal = "comma" in the map', "decimal_comma")
    if point and decimal is Decimal.COMMA:
        raise Doubt('a decimal comma, as in the rest of the column, or decimal = "either" in the map', "decimal_point")
    if decimal is Decimal.EITHER and re.fullmatch(r"[-+]?[1-9]\d*[.,]\d{3}", text):
        raise Doubt("a number that cannot also be read as thousands", "thousands")
    return float(text.replace(",", "."))


def _between(low: float, high: float, rule: Between | None) -> float | None:
    if rule is None:
        raise Doubt('one number, or between = "middle", "low", "high" or "missing" in the map', "range")
    if high < low:
        raise Doubt("a range from the lower to the higher number", "range")
    return {Between.MIDDLE: (low + high) / 2, Between.LOW: low, Between.HIGH: high, Between.MISSING: None}[rule]


def _vague(value: float | None, mark: str | None, asked: str | None, rule: NumberRule) -> tuple[float | None, str]:
    """The value as the rule for its mark says, and the name of that rule."""
    if not mark and not asked:
        return value, ""
    key, held = ("about", rule.about)
    if mark in _BELOW:
        key, held = "below", rule.below
    elif mark in _ABOVE:
        key, held = "above", rule.above
    if held is None:
        raise Doubt(f'a plain number, or {key} = "value" or "missing" in the map', "vague_number")
    return (None if held is Vague.MISSING else value), key


def _scale(value: float, written: str | None, rule: NumberRule, unit: str) -> tuple[float, str]:
    """The factor into the wanted unit: by the unit written in the cell, else by the rule for small ones or for all."""
    if written:
        if known(written) is None and plain(written) != plain(unit):
            raise Doubt(f"a number in {unit}" if unit else "a number without a unit", "unknown_unit")
        return factor(written, unit), "unit"
    small = rule.small_below is not None and abs(value) < rule.small_below
    used = rule.small_unit if small else rule.unit
    if not used:
        return 1.0, ""
    scale = factor(used, unit)
    return scale, "" if scale == 1.0 else f"unit {used}"


def _spelling(text: str, first: str) -> str:
    if "," in first:
        return "decimal comma"
    return "minus" if first.startswith("-") and "-" not in text else ""
