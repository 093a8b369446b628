"""Drafting the rules of a column of numbers or dates from how its cells are written."""

import re

from riskmodel.dictionary.model import Kind, Variable
from training.registry.cells import is_day, is_number, plain, text_of
from training.registry.draft.contents import Contents
from training.registry.draft.guess import header_unit
from training.registry.draft.levels import empty_word
from training.registry.draft.lines import ColumnDraft, Line
from training.registry.mapping.model import UNANSWERED
from training.registry.reading.units import known as known_unit
from training.registry.targets import Target
from training.registry.words import Words

_AGE = r"\d\s*(?:y|m\b|\+)|/\s*12"
_TWO_NUMBERS = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})")
# Numbers that stand in registries for "no value" where they cannot be one. Common practice, no source.
_CODES_FOR_NOTHING = frozenset({99.0, 999.0, 9999.0, -1.0, -9.0, -99.0, -999.0})
_YEARS_FROM = 1950


def draft_number(draft: ColumnDraft, held: Contents, target: Target, words: Words) -> None:
    """Add the rules that the column's numbers need."""
    variable = target.variable
    unit = header_unit(draft.header)
    if unit is not None and unit != known_unit(variable.unit):
        draft.say("unit", unit, f"by the header; the cohort has {variable.unit}")
    if variable.unit in ("years", "months") and held.matching(_AGE):
        draft.say("reads", "age", "ages such as 4y7m, 4+7, 4 7/12, 55m")
    _decimal(draft, held)
    for key, pattern, example in (
        ("below", r"^[<≤]", "<2 as 2"),
        ("above", r"^[>≥]", ">10 as 10"),
        ("about", r"^(?:~|≈|ca|about|approx)|\d\s*\?$", "~3 as 3"),
    ):
        if held.matching(pattern):
            draft.say(key, "value", f'{held.matching(pattern)} cells, {example}; or "missing"')
    if held.matching(r"\d\s*(?:-|to)\s*\d") or held.days:
        draft.say("between", "middle", '3-4 as 3.5; or "low", "high", "missing"')
    if held.days:
        draft.say("turned_dates", UNANSWERED, f'{held.days} cells became dates: "day_first" or "month_first"')
    _nothing(draft, held, target, words)


def _decimal(draft: ColumnDraft, held: Contents) -> None:
    commas, points = held.matching(r"\d,\d"), held.matching(r"\d\.\d")
    if commas:
        draft.say("decimal", "either" if points else "comma", f"{commas} cells with a comma, {points} with a point")


def _nothing(draft: ColumnDraft, held: Contents, target: Target, words: Words) -> None:
    """Words and numbers that say that there is no value."""
    for word in held.texts:
        if target.variable.kind is Kind.INTEGER and word in words.of("asked.count"):
            draft.codes.append(Line(word, UNANSWERED, '"0"; or a line under empty if it means that nobody knows'))
            continue
        state = empty_word(word, target, words)
        if state is not None and not _possible(word, target.variable):
            draft.empty.append(Line(word, state, "why there is no value"))


def _possible(word: str, variable: Variable) -> bool:
    """Whether the word is a number that the variable may well have."""
    try:
        value = float(word)
    except ValueError:
        return False
    bounds = variable.soft or variable.hard
    return value not in _CODES_FOR_NOTHING or bounds is None or bounds[0] <= value <= bounds[1]


def draft_date(draft: ColumnDraft, held: Contents, target: Target, words: Words, base: int) -> None:
    """Add the rules that the column's dates need; `base` is the workbook's own."""
    found = [match for text in held.typed if (match := _TWO_NUMBERS.fullmatch(text))]
    if found:
        _order(draft, found, held)
    if any(len(match[3]) == 2 for match in found) or held.matching(r"[a-z]{3,}[-/. ]*\d{2}$"):
        draft.say("years_from", _YEARS_FROM, f"years of two digits lie from {_YEARS_FROM} to {_YEARS_FROM + 99}")
    if held.matching(r"^(?:\?+[-/. ]*)?[a-z]{3,}\.?[-/., ]*(?:\d{4}|\d{2})$|^(?:\?+/)?\d{1,2}/\d{4}$|^\d{4}-\d{1,2}$"):
        draft.say("month_only", "middle", 'Mar 2019 as the 15th, flagged; or "missing"')
    if held.matching(r"^(?:[?x]+[-/. ]*){0,2}\d{4}\??$") or held.count(_is_year):
        draft.say("year_only", "middle", '?/2019 as 1 July, flagged; or "missing"')
    if held.count(is_number) > held.count(_is_year) or held.matching(r"^\d{5}$"):
        draft.say("serials", base, f"bare numbers are days of the {base} base")
    for text in dict.fromkeys(plain(text_of(cell)) for _, cell in held.cells):
        state = empty_word(text, target, words)
        if state is not None:
            draft.empty.append(Line(text, state, "why there is no date"))


def _is_year(cell: object) -> bool:
    return isinstance(cell, int) and 1900 <= cell < 2200


def _order(draft: ColumnDraft, found: list[re.Match[str]], held: Contents) -> None:
    day_first = sum(int(match[1]) > 12 for match in found)
    month_first = sum(int(match[2]) > 12 for match in found)
    if bool(day_first) == bool(month_first):
        draft.say("order", UNANSWERED, '"day_first" or "month_first": the cells do not tell')
        return
    order, share = ("day_first", day_first) if day_first else ("month_first", month_first)
    draft.say("order", order, f"{share} of {len(found)} cells can be read in no other way")
    days = [text_of(cell)[8:10] for _, cell in held.cells if is_day(cell)]
    if days and all(int(day) <= 12 for day in days):
        check = f'"as_they_are" or "swapped": {len(days)} cells are dates already, none has a day above 12'
        draft.say("date_cells", UNANSWERED, check)
