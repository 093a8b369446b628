"""One column of a map, from its TOML table."""

from enum import Enum
from typing import TypeVar

from riskmodel.dictionary.fields import Fields, shown
from training.registry.mapping.model import (
    Assignments,
    Between,
    ColumnRule,
    Combine,
    DateCells,
    DateRule,
    Decimal,
    NotCarried,
    NumberRule,
    Order,
    Partial,
    Reads,
    SideRule,
    StatusRule,
    Unmarked,
    Vague,
)
from training.registry.mapping.words import codes, plain_words, words

BASES = (1900, 1904)

Choice = TypeVar("Choice", bound=Enum)


def column_rule(header: str, fields: Fields) -> ColumnRule:
    """The rule that a `[sheet.column."HEADER"]` table describes."""
    held = ColumnRule(
        header=header,
        to=_targets(fields),
        reads=fields.choice("reads", Reads, Reads.VALUE) or Reads.VALUE,
        not_carried=_optional(fields, "not_carried", NotCarried),
        codes=codes(fields, "codes"),
        empty=plain_words(fields, "empty"),
        number=_number(fields),
        date=_date(fields),
        sides=_sides(fields),
        status=_status(fields),
        flag=fields.optional("flag"),
        blank=fields.optional("blank"),
        separators=fields.texts("separators"),
        bare=fields.optional("bare"),
        turned_dates=_optional(fields, "turned_dates", Order),
        question_mark=_assignment(fields, "question_mark"),
        combine=_optional(fields, "combine", Combine),
        when_filled=_assignments(fields, "when_filled"),
        when_empty=_assignments(fields, "when_empty"),
    )
    fields.finish()
    _one_thing(held, fields)
    return held


def _one_thing(held: ColumnRule, fields: Fields) -> None:
    if bool(held.to) == (held.not_carried is not None):
        accepted = 'either to = "variable" or not_carried = "identifier", "free_text" or "not_needed"'
        fields.fault(None, "a column of which nothing, or two things, are said", accepted, "column")


def _assignments(fields: Fields, key: str) -> Assignments:
    return tuple(words(fields, key).items())


def _targets(fields: Fields) -> tuple[str, ...]:
    value = fields.raw("to")
    if isinstance(value, str) and value:
        return (value,)
    return fields.texts("to")


def _number(fields: Fields) -> NumberRule:
    return NumberRule(
        unit=fields.optional("unit"),
        decimal=fields.choice("decimal", Decimal, Decimal.POINT) or Decimal.POINT,
        below=_optional(fields, "below", Vague),
        above=_optional(fields, "above", Vague),
        about=_optional(fields, "about", Vague),
        between=_optional(fields, "between", Between),
        small_below=fields.number("small_below", 0.0) or None,
        small_unit=fields.optional("small_unit"),
    )


def _date(fields: Fields) -> DateRule:
    serials = fields.raw("serials")
    if serials is not None and serials not in BASES:
        fields.fault("serials", shown(serials), "1900 or 1904", "unknown_word")
    years_from = fields.raw("years_from")
    if years_from is not None and not (type(years_from) is int and 1800 < years_from < 2100):
        fields.fault("years_from", shown(years_from), "a year, such as 1990", "wrong_type")
        years_from = None
    return DateRule(
        order=_optional(fields, "order", Order),
        years_from=years_from,
        month_only=_optional(fields, "month_only", Partial),
        year_only=_optional(fields, "year_only", Partial),
        serials=serials if serials in BASES else None,
        cells=_optional(fields, "date_cells", DateCells),
    )


def _sides(fields: Fields) -> SideRule:
    return SideRule(
        both=fields.texts("both"),
        unmarked=_optional(fields, "unmarked", Unmarked),
        named=fields.optional("named"),
        not_named=fields.optional("not_named"),
    )


def _status(fields: Fields) -> StatusRule:
    as_of = fields.raw("as_of")
    return StatusRule(
        as_of=None if as_of is None else str(as_of),
        as_of_to=fields.optional("as_of_to"),
        final=fields.texts("final"),
    )


def _assignment(fields: Fields, key: str) -> tuple[str, str] | None:
    text = fields.optional(key)
    if text is None:
        return None
    variable, equals, code = text.partition("=")
    if not (equals and variable.strip() and code.strip()):
        fields.fault(key, text, '"variable=code"', "wrong_type")
        return None
    return variable.strip(), code.strip()


def _optional(fields: Fields, key: str, choices: type[Choice]) -> Choice | None:
    """One of an enumeration's values, or None when the key is absent."""
    return None if fields.raw(key) is None else fields.choice(key, choices)
