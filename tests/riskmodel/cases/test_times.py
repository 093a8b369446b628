"""Dates become months from the operation, and only the year of the operation stays."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.cases.times import months_between
from riskmodel.dictionary.model import Dictionary
from riskmodel.tables import Cell
from tests.riskmodel.cases.builders import checked, told

DAYS = st.dates(date(1980, 1, 1), date(2040, 12, 31))


def _months(first: date, second: date) -> float:
    return float(months_between(np.array([float(first.toordinal())]), np.array([float(second.toordinal())]))[0])


@pytest.mark.parametrize(
    ("first", "second", "months"),
    [
        (date(2020, 3, 15), date(2022, 3, 15), 24.0),
        (date(2020, 2, 29), date(2021, 3, 29), 13.0),
        (date(2020, 1, 31), date(2020, 1, 31), 0.0),
        (date(2021, 5, 1), date(2020, 5, 1), -12.0),
    ],
)
def test_the_same_day_of_a_later_month_is_whole_months_away(first: date, second: date, months: float) -> None:
    """Calendar months: two years to the day are exactly 24, whatever leap years lie between (common practice)."""
    assert _months(first, second) == months


@given(first=DAYS, second=DAYS)
def test_months_rise_with_every_day_and_stay_near_the_mean_month(first: date, second: date) -> None:
    months = _months(first, second)
    assert _months(first, second + timedelta(days=1)) > months
    assert abs(months - (second - first).days / 30.4375) < 0.1


def test_dates_give_months_and_only_the_year_stays(held: Dictionary) -> None:
    columns: dict[str, list[Cell]] = {
        "key": ["k1", "k2"],
        "operation_date": ["2020-01-15", "2021-06-30"],
        "last_scan_date": ["2022-01-15", ""],
        "failure": ["yes", ""],
        "failure_date": [date(2020, 7, 15), ""],
    }
    table, findings = checked(held, columns)
    assert not findings
    assert "operation_date" not in table
    assert list(table["operation_year"].values) == [2020.0, 2021.0]
    assert table["last_scan_months"].values[0] == 24.0
    assert table["last_scan_months"].missing[1]
    assert table["failure_months"].values[0] == 6.0


def test_months_and_dates_may_stand_together_if_they_agree(held: Dictionary) -> None:
    columns = {
        "key": ["k1", "k2", "k3"],
        "operation_date": ["2020-01-15"] * 3,
        "last_scan_months": ["24", "", "12"],
        "last_scan_date": ["2022-01-20", "2021-01-15", "2022-01-15"],
    }
    table, findings = checked(held, columns)
    assert told(findings) == [("months_and_date", 4, "last_scan_months")]
    assert list(table["last_scan_months"].values) == [24.0, 12.0, 12.0]


def test_a_date_needs_the_date_of_the_operation(held: Dictionary) -> None:
    _, findings = checked(held, {"key": ["k1"], "last_scan_date": ["2020-01-01"]})
    assert told(findings) == [("no_origin", None, "last_scan_date")]
    columns = {"key": ["k1"], "operation_date": [""], "last_scan_date": ["2020-01-01"]}
    _, findings = checked(held, columns)
    assert told(findings) == [("no_origin", 2, "last_scan_date")]


def test_dates_before_the_operation_and_in_another_century_are_refused(held: Dictionary) -> None:
    columns = {
        "key": ["k1", "k2"],
        "operation_date": ["2020-01-15", "1900-01-01"],
        "last_contact_date": ["2019-12-15", "1901-01-01"],
    }
    table, findings = checked(held, columns)
    assert told(findings) == [("outside_hard", 2, "last_contact_date"), ("outside_hard", 3, "operation_year")]
    assert "which is -1.0 months from the operation" in findings[0].found
    assert table["last_contact_months"].missing[0]


def test_year_and_date_must_agree(held: Dictionary) -> None:
    columns = {"key": ["k1", "k2"], "operation_date": ["2020-01-15", ""], "operation_year": ["2021", "2018"]}
    table, findings = checked(held, columns)
    assert told(findings) == [("two_years", 2, "operation_year")]
    assert list(table["operation_year"].values) == [2020.0, 2018.0]


def test_a_late_date_is_questioned_like_late_months(held: Dictionary) -> None:
    columns = {"key": ["k1"], "operation_date": ["1990-01-15"], "last_scan_date": ["2020-01-15"]}
    table, (finding,) = checked(held, columns)
    assert (finding.rule, finding.severity.value) == ("outside_soft", "warning")
    assert table["last_scan_months"].values[0] == 360.0
