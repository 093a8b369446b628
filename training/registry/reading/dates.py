"""Dates as people type them, and as spreadsheets count them."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from training.registry.cells import dashes, plain
from training.registry.mapping.model import DateCells, DateRule, Order, Partial
from training.registry.reading.doubt import Doubt

# Day 1 is 1 January 1900, or day 0 is 1 January 1904 (ISO/IEC 29500-1, 18.17.4.1). The 1900 base counts a 29 February
# 1900 that there never was, as day 60: days before it are one nearer to the start.
_START = {1900: date(1899, 12, 30), 1904: date(1904, 1, 1)}
_NO_SUCH_DAY = 60
_LAST_SERIAL = 73_050  # about the year 2100

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ t]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?)?")
_NUMBERS = re.compile(r"(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4}|\d{2})")
_WORD_SECOND = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-/., ]*([^\W\d_]{3,})\.?[-/., ]*(\d{4}|\d{2})")
_WORD_FIRST = re.compile(r"([^\W\d_]{3,})\.?[-/ ]*(\d{1,2})(?:st|nd|rd|th)?[, ]+(\d{4}|\d{2})")
_MONTH_WORD = re.compile(r"(?:\?+[-/. ]*)?([^\W\d_]{3,})\.?[-/., ]*(\d{4}|\d{2})")
_MONTH = re.compile(r"(?:\?+[-/. ]*)?(\d{1,2})[-/. ](\d{4})")
_ISO_MONTH = re.compile(r"(\d{4})-(\d{1,2})")
_YEAR = re.compile(r"(?:(?:\?+|x+)[-/. ]*){0,2}(\d{4})\??")


class Known(Enum):
    """How much of a date is known."""

    DAY = "day"
    MONTH = "month"
    YEAR = "year"


@dataclass(frozen=True, slots=True)
class Day:
    """A date, how much of it is known (the rest is the middle of month or year), and what was done to read it."""

    when: date
    known: Known = Known.DAY
    rule: str = ""


def serial_day(serial: float, base: int) -> date:
    """The date of a spreadsheet's day number; the part of a day after the point is its time and is dropped.

    Parameters
    ----------
    serial : days, from 1 (base 1900) or 0 (base 1904)
    base : 1900 or 1904

    Raises
    ------
    Doubt
        For day 60 of the 1900 base, which never was, and for numbers before the start or after 2100.

    >>> serial_day(43558, 1900), serial_day(43558 - 1462, 1904)
    (datetime.date(2019, 4, 3), datetime.date(2019, 4, 3))
    """
    days = int(serial)
    first = 1 if base == 1900 else 0
    if not first <= serial < _LAST_SERIAL or (base == 1900 and days == _NO_SUCH_DAY):
        raise Doubt("a date, or the number of days of one", "not_a_date")
    if base == 1900 and days < _NO_SUCH_DAY:
        days += 1
    return _START[base] + timedelta(days=days)


def read_number_as_date(number: float, rule: DateRule) -> Day:
    """A bare number in a column of dates.

    Raises
    ------
    Doubt
        When the map does not say that such numbers are days of 1900 or 1904.
    """
    if rule.serials is None:
        raise Doubt("a date; for days counted by a spreadsheet, serials = 1900 or 1904 in the map", "serial")
    return Day(serial_day(number, rule.serials), rule=f"serial {rule.serials}")


def read_date_cell(cell: date, rule: DateRule) -> Day:
    """A cell that the spreadsheet holds as a date.

    Raises
    ------
    Doubt
        When the map says that day and month are swapped, and they cannot be.
    """
    day = date(cell.year, cell.month, cell.day)
    if rule.cells is not DateCells.SWAPPED:
        return Day(day)
    if day.day > 12:
        raise Doubt('a date whose day can be a month, or date_cells = "as_they_are" in the map', "not_swapped")
    return Day(date(day.year, day.day, day.month), rule="day and month swapped")


def read_date(text: str, rule: DateRule) -> Day | None:
    """A date typed as text; None when only a part is known and the map makes such dates missing.

    Raises
    ------
    Doubt
        When the text is no date, has two readings, or is written in a way that the rule says nothing about.
    """
    written = plain(dashes(text)).strip(" .")
    for pattern, read in _PATTERNS:
        found = pattern.fullmatch(written)
        if found is not None:
            return read(found.groups(), rule)
    raise Doubt("a date such as 2019-04-03, or a line for this word under empty", "not_a_date")


def _iso(parts: tuple[str, ...], rule: DateRule) -> Day:
    year, month, day = map(int, parts)
    return Day(_day(year, month, day))


def _numbers(parts: tuple[str, ...], rule: DateRule) -> Day:
    """Two numbers and a year: the declared order, or the only reading that is a date."""
    first, second, year = int(parts[0]), int(parts[1]), _year(parts[2], rule)
    if rule.order is Order.DAY_FIRST:
        return Day(_day(year, second, first), rule="day first")
    if rule.order is Order.MONTH_FIRST:
        return Day(_day(year, first, second), rule="month first")
    readings = {day for day in (_maybe(year, second, first), _maybe(year, first, second)) if day}
    if len(readings) > 1:
        both = " or ".join(day.isoformat() for day in sorted(readings))
        raise Doubt(f'{both}: order = "day_first" or "month_first" in the map says which', "two_readings")
    if not readings:
        raise Doubt("a day of the calendar", "not_a_date")
    return Day(readings.pop(), rule="only reading")


def _word_second(parts: tuple[str, ...], rule: DateRule) -> Day:
    return Day(_day(_year(parts[2], rule), _month(parts[1]), int(parts[0])), rule="month in words")


def _word_first(parts: tuple[str, ...], rule: DateRule) -> Day:
    return Day(_day(_year(parts[2], rule), _month(parts[0]), int(parts[1])), rule="month in words")


def _month_word(parts: tuple[str, ...], rule: DateRule) -> Day | None:
    return _middle_of_month(_year(parts[1], rule), _month(parts[0]), rule)


def _month_only(parts: tuple[str, ...], rule: DateRule) -> Day | None:
    return _middle_of_month(int(parts[1]), int(parts[0]), rule)


def _iso_month(parts: tuple[str, ...], rule: DateRule) -> Day | None:
    return _middle_of_month(int(parts[0]), int(parts[1]), rule)


def _year_only(parts: tuple[str, ...], rule: DateRule) -> Day | None:
    if rule.year_only is None:
        raise Doubt('a whole date, or year_only = "middle" or "missing" in the map', "year_only")
    held = _day(int(parts[0]), 7, 1)
    return Day(held, Known.YEAR, "middle of the year") if rule.year_only is Partial.MIDDLE else None


def _middle_of_month(year: int, month: int, rule: DateRule) -> Day | None:
    held = _day(year, month, 15)
    if rule.month_only is None:
        raise Doubt('a whole date, or month_only = "middle" or "missing" in the map', "month_only")
    return Day(held, Known.MONTH, "middle of the month") if rule.month_only is Partial.MIDDLE else None


def _year(text: str, rule: DateRule) -> int:
    if len(text) == 4:
        return int(text)
    if rule.years_from is None:
        raise Doubt("a year of four digits, or years_from = 1990 (say) in the map", "two_digit_year")
    return rule.years_from + (int(text) - rule.years_from) % 100


def _month(word: str) -> int:
    number = MONTHS.get(word.rstrip("."))
    if number is None:
        raise Doubt("a date such as 2019-04-03, or a line for this word under empty", "not_a_date")
    return number


def _day(year: int, month: int, day: int) -> date:
    held = _maybe(year, month, day)
    if held is None:
        raise Doubt("a day of the calendar, in the order that the map declares", "not_a_date")
    return held


def _maybe(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


_NAMES = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
MONTHS = {name[:length]: number for number, name in enumerate(_NAMES, start=1) for length in (3, len(name))}
MONTHS["sept"] = 9

_PATTERNS = (
    (_ISO, _iso),
    (_NUMBERS, _numbers),
    (_WORD_SECOND, _word_second),
    (_WORD_FIRST, _word_first),
    (_MONTH_WORD, _month_word),
    (_MONTH, _month_only),
    (_ISO_MONTH, _iso_month),
    (_YEAR, _year_only),
)
