"""Dates in place of months, turned into months from the operation on reading; of the operation the year is kept."""

from collections.abc import Mapping
from datetime import date

import numpy as np

from riskmodel.cases.cells import in_range
from riskmodel.cases.columns import read_column, report
from riskmodel.cases.sheet import Sheet, rows_where
from riskmodel.cases.table import Column, Floats, State, column
from riskmodel.dictionary.expand import date_of, year_of
from riskmodel.dictionary.model import Dictionary, Kind, Moment, Variable

MEAN_MONTH_DAYS = 365.25 / 12
_AGREE_MONTHS = 1.0

_A_DATE = Variable("", "a date", Kind.DATE, Moment.FOLLOW_UP)


def months_between(first: Floats, second: Floats) -> Floats:
    """Calendar months from one day (as ordinals) to another: whole months, and what is left in mean months.

    The same day of a later month is a whole number of months away, so two years to the day are 24. Between fixed
    ends it rises with every day. NaN where either is NaN. Common practice, no source.
    """
    (months, days), (later_months, later_days) = _calendar(first), _calendar(second)
    return (later_months - months) + (later_days - days) / MEAN_MONTH_DAYS


def dates_to_months(
    columns: Mapping[str, Column],
    dates: Mapping[str, list[str]],
    dictionary: Dictionary,
    start: Variable | None,
    sheet: Sheet,
) -> dict[str, Column]:
    """The columns with months in place of dates, the operation's year in place of its date.

    Parameters
    ----------
    columns : what was read so far, the date of the operation (as ordinals) perhaps among it
    dates : (n,) texts of each column of dates, by the variable of months that it stands for
    start : the variable with the date that months are counted from
    """
    out = dict(columns)
    if start is None:
        return out
    origin = out.pop(start.name, None)
    if origin is not None:
        _keep_year(out, origin, dictionary.variables[year_of(start.name)], sheet)
    for name, held in dates.items():
        day = date_of(name)
        if origin is None:
            sheet.column(day, "dates, but no date to count from", f"a column {start.name} beside it", "no_origin")
            continue
        read = read_column(held, _A_DATE, day, sheet)
        _need_origin(read, origin, day, start.name, sheet)
        months = _checked(months_between(origin.values, read.values), held, dictionary.variables[name], day, sheet)
        out[name] = _merged(out.get(name), months, name, day, sheet)
    return out


def _calendar(days: Floats) -> tuple[Floats, Floats]:
    """Months since year 0, and the day of the month, of each ordinal."""
    held = [date.fromordinal(int(day)) if day == day else None for day in days]
    months = [np.nan if day is None else 12.0 * day.year + day.month for day in held]
    return np.array(months), np.array([np.nan if day is None else float(day.day) for day in held])


def _keep_year(out: dict[str, Column], origin: Column, year: Variable, sheet: Sheet) -> None:
    held = [date.fromordinal(int(day)).year if day == day else np.nan for day in origin.values]
    years, given = np.array(held, dtype=np.float64), out.get(year.name)
    readings = {value: in_range(value, year) for value in set(held) if value == value}
    for row in rows_where(origin.present):
        report(readings[held[row]], row, year.name, f"{held[row]}, from the date", sheet)
    if given is not None:
        both = given.present & origin.present
        for row in rows_where(both & (given.values != years)):
            found = f"{given.values[row]:g}, but the date is in {held[row]}"
            sheet.cell(row, year.name, found, "the year of the date, or one of the two only", "two_years")
        years = np.where(origin.present, years, given.values)
    out[year.name] = column(years)


def _need_origin(read: Column, origin: Column, day: str, start: str, sheet: Sheet) -> None:
    for row in rows_where(read.present & ~origin.present):
        sheet.cell(row, day, f"a date, but {start} is empty", f"{start} in the same row", "no_origin")


def _checked(months: Floats, held: list[str], variable: Variable, day: str, sheet: Sheet) -> Column:
    """Months from dates, held against the ranges of their variable."""
    states = np.where(np.isnan(months), State.MISSING, State.PRESENT).astype(np.int8)
    for row in rows_where(states == State.PRESENT):
        reading = in_range(float(months[row]), variable)
        report(reading, row, day, f"{held[row]}, which is {months[row]:.1f} months from the operation", sheet)
        states[row] = reading.state
    return column(months, states)


def _merged(given: Column | None, months: Column, name: str, day: str, sheet: Sheet) -> Column:
    """Months as given where they are, else from the dates; the two must agree to a month."""
    if given is None:
        return months
    apart = np.abs(given.values - months.values) > _AGREE_MONTHS
    for row in rows_where(given.present & months.present & apart):
        found = f"{given.values[row]:g} months, but {day} says {months.values[row]:.1f}"
        sheet.cell(row, name, found, "months and date that agree to a month, or one of the two", "months_and_date")
    return given.filled_from(months)
