"""Ages of children as people type them."""

import re

from training.registry.cells import dashes, plain
from training.registry.mapping.model import NumberRule
from training.registry.reading.doubt import Doubt
from training.registry.reading.numbers import Number, read_number, rounded
from training.registry.reading.units import factor

_YEARS_MONTHS = re.compile(
    r"(\d{1,2})\s*(?:y|yr|yrs|years?)\.?[\s,]*(?:and\s*)?(\d{1,2})\s*(?:m|mo|mos|mths?|months?)\.?"
)
_PLUS = re.compile(r"(\d{1,2})\s*\+\s*(\d{1,2})(?:\s*/\s*12)?")
_FRACTION = re.compile(r"(?:(\d{1,2})\s+)?(\d{1,2})\s*/\s*12")
_MONTHS = re.compile(r"(\d{1,3})\s*m")


def read_age(text: str, rule: NumberRule, unit: str) -> Number:
    """An age in `unit`.

    `4y7m`, `4+7` and `4 7/12` are 4 years and 7 months, `55m` is 55 months, a bare number is in the rule's unit.

    >>> read_age("4 6/12", NumberRule(), "years").value
    4.5

    Raises
    ------
    Doubt
        When the text is no age.
    """
    written = plain(dashes(text))
    for pattern in (_YEARS_MONTHS, _PLUS, _FRACTION):
        found = pattern.fullmatch(written)
        if found is not None:
            return _age(int(found[1] or 0), int(found[2]), unit)
    found = _MONTHS.fullmatch(written)
    if found is not None:
        return Number(rounded(int(found[1]) * factor("months", unit)), "age")
    return read_number(text, rule, unit)


def _age(years: int, months: int, unit: str) -> Number:
    if months > 11:
        raise Doubt("years and months, the months from 0 to 11", "not_an_age")
    return Number(rounded((12 * years + months) * factor("months", unit)), "age")
