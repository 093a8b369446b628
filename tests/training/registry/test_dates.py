"""Dates in place of months: orders, serials of both bases, parts of dates, days that cannot be."""

from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel
from openpyxl.workbook.workbook import Workbook

from tests.training.registry.build import column, one, refused, rules, tidied
from training.registry.mapping.model import DateRule, Order, Partial
from training.registry.reading.dates import Known, read_date, serial_day
from training.registry.reading.doubt import Doubt

SEEN = """
[sheet.column."Seen"]
to = "last_contact_date"
"""


# ISO/IEC 29500-1, 18.17.4.1: the examples of serial values in both date bases (from memory).
@pytest.mark.parametrize(
    ("serial", "base", "day"),
    [
        (1.5, 1900, date(1900, 1, 1)),
        (3687.4207639, 1900, date(1910, 2, 3)),
        (1.5, 1904, date(1904, 1, 2)),
        (2225.4207639, 1904, date(1910, 2, 3)),
        (0, 1904, date(1904, 1, 1)),
        (59, 1900, date(1900, 2, 28)),
        (61, 1900, date(1900, 3, 1)),
    ],
)
def test_serials_follow_the_standard(serial: float, base: int, day: date) -> None:
    assert serial_day(serial, base) == day


def test_the_day_that_never_was_is_no_day() -> None:
    with pytest.raises(Doubt, match="number of days"):
        serial_day(60, 1900)


@given(st.integers(61, 70_000))
def test_serials_agree_with_the_spreadsheet_library(serial: int) -> None:
    by_library = from_excel(serial, CALENDAR_WINDOWS_1900), from_excel(serial, CALENDAR_MAC_1904)
    ours = serial_day(serial, 1900), serial_day(serial, 1904)
    assert [day.date() for day in by_library if isinstance(day, datetime)] == list(ours)


@given(st.dates(date(1950, 1, 1), date(2049, 12, 31)))
def test_a_date_written_in_the_declared_order_comes_back(day: date) -> None:
    first_day = DateRule(order=Order.DAY_FIRST, years_from=1950)
    first_month = DateRule(order=Order.MONTH_FIRST, years_from=1950)
    for written, rule in (
        (day.isoformat(), DateRule()),
        (f"{day.day}/{day.month}/{day.year}", first_day),
        (f"{day.day:02d}.{day.month:02d}.{day.year % 100:02d}", first_day),
        (f"{day.month}-{day.day}-{day.year}", first_month),
        (f"{day.day} {day:%B} {day.year}", DateRule()),
        (f"{day:%b} {day.day}, {day.year}", DateRule()),
    ):
        read = read_date(written, rule)
        assert read is not None
        assert read.when == day, written
        assert read.known is Known.DAY


def test_two_readings_are_named_not_chosen(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["3/4/2021"])
    (finding,) = refused(tmp_path, headers, rows, SEEN)
    assert finding.rule == "two_readings"
    assert (finding.sheet, finding.row, finding.column) == ("Registry", 2, "Seen")
    assert finding.accepted.startswith("2021-03-04 or 2021-04-03:")


def test_the_declared_order_decides(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["3/4/2021"])
    by_day = tidied(tmp_path, headers, rows, SEEN + 'order = "day_first"')
    by_month = tidied(tmp_path, headers, rows, SEEN + 'order = "month_first"')
    assert column(by_day, "last_contact_months") == ["24"]
    assert column(by_month, "last_contact_months") == ["23.03"]  # 2021-03-04: 23 months and a day


def test_an_impossible_day_is_refused_not_turned_round(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["25/4/2021", "4/25/2021"])
    (finding,) = refused(tmp_path, headers, rows, SEEN + 'order = "day_first"')
    assert (finding.row, finding.rule) == (3, "not_a_date")


def test_of_the_operation_only_the_year_is_kept(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["2021-04-03"])
    held = tidied(tmp_path, headers, rows, SEEN)
    assert "operation_date" not in held.tables["children"].header
    assert column(held, "operation_year") == ["2019"]
    cells = [str(cell) for row in held.tables["children"].rows for cell in row]
    assert not any("2019-" in cell or "2021" in cell for cell in cells)


@pytest.mark.parametrize("base", [1900, 1904])
def test_date_cells_are_right_in_workbooks_of_both_bases(tmp_path: Path, base: int) -> None:
    def with_base(book: Workbook) -> None:
        book.epoch = CALENDAR_MAC_1904 if base == 1904 else CALENDAR_WINDOWS_1900

    headers, rows = one("Seen", [datetime(2021, 4, 3)], day=datetime(2019, 4, 3))
    held = tidied(tmp_path, headers, rows, SEEN, edit=with_base)
    assert (column(held, "operation_year"), column(held, "last_contact_months")) == (["2019"], ["24"])


def test_bare_numbers_are_days_only_if_the_map_says_of_which_base(tmp_path: Path) -> None:
    headers, rows = one("Seen", [44289, "44289"])  # 2021-04-03 in the 1900 base, as a number and as a text
    assert rules(refused(tmp_path, headers, rows, SEEN)) == ["serial", "serial"]
    assert column(tidied(tmp_path, headers, rows, SEEN + "serials = 1900"), "last_contact_months") == ["24", "24"]
    later = tidied(tmp_path, headers, rows[:1], SEEN + "serials = 1904")
    assert float(column(later, "last_contact_months")[0]) == pytest.approx(24 + 1462 / 30.44, abs=0.1)


def test_parts_of_dates_need_a_rule_and_are_flagged(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["Mar 2021", "?/2021", "03/2021"])
    assert rules(refused(tmp_path, headers, rows, SEEN)) == ["month_only", "year_only", "month_only"]
    ruled = SEEN + 'month_only = "middle"\nyear_only = "middle"'
    held = tidied(tmp_path, headers, rows, ruled)
    assert column(held, "last_contact_months") == ["23.39", "26.93", "23.39"]  # 15 March, 1 July
    assert [finding.found for finding in held.findings if finding.rule == "part_of_a_date"] == [
        "Mar 2021, of which only the month is known",
        "?/2021, of which only the year is known",
        "03/2021, of which only the month is known",
    ]
    missing = tidied(tmp_path, headers, rows, SEEN + 'month_only = "missing"\nyear_only = "missing"')
    assert "last_contact_months" not in missing.tables["children"].header


def test_years_of_two_digits_need_their_century(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["25/4/21"])
    assert rules(refused(tmp_path, headers, rows, SEEN)) == ["two_digit_year"]
    assert column(tidied(tmp_path, headers, rows, SEEN + "years_from = 1950"), "last_contact_months") == ["24.72"]
    assert read_date("1/5/50", DateRule(Order.DAY_FIRST, 1950)) == read_date("1/5/1950", DateRule(Order.DAY_FIRST))
    assert read_date("1/5/49", DateRule(Order.DAY_FIRST, 1950)) == read_date("1/5/2049", DateRule(Order.DAY_FIRST))


def test_days_that_cannot_be_are_each_named(tmp_path: Path) -> None:
    headers, rows = one("Seen", ["2018-04-03", "2031-01-01", "1900-01-01", datetime(1900, 1, 1), "soon"])
    findings = refused(tmp_path, headers, rows, SEEN)
    said = {finding.row: finding.rule for finding in findings}
    assert said == {2: "before_operation", 3: "future_date", 4: "no_day", 5: "no_day", 6: "not_a_date"}


def test_dates_that_the_spreadsheet_may_have_swapped_are_asked_about(tmp_path: Path) -> None:
    headers, rows = one("Seen", [datetime(2021, 3, 4), datetime(2021, 5, 6), "25/4/2021"])
    ruled = SEEN + 'order = "day_first"'
    (finding,) = refused(tmp_path, headers, rows, ruled)
    assert (finding.rule, finding.column) == ("mixed_dates", "Seen")
    held = tidied(tmp_path, headers, rows, ruled + '\ndate_cells = "swapped"')
    assert column(held, "last_contact_months") == ["24", "26.07", "24.72"]  # 3 April, 5 June, 25 April
    kept = tidied(tmp_path, headers, rows, ruled + '\ndate_cells = "as_they_are"')
    assert column(kept, "last_contact_months")[:2] == ["23.03", "25.1"]


def test_partial_rule_reads_nothing_as_missing() -> None:
    assert read_date("Mar 2021", DateRule(month_only=Partial.MISSING)) is None
