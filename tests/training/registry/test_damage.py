"""What spreadsheets do to what was typed: levels that become dates, zeros and digits lost, dashes, blanks, commas."""

from datetime import datetime
from pathlib import Path

from openpyxl.workbook.workbook import Workbook

from tests.training.registry.build import column, one, refused, rules, tidied

SPAN = """
[sheet.column."Levels"]
to = ["upper_level", "lower_level"]
reads = "span"
bare = "C"
"""
ADI = """
[sheet.column."ADI"]
to = "adi_mm"
"""


def test_levels_that_became_dates_are_asked_about_then_turned_back(tmp_path: Path) -> None:
    headers, rows = one("Levels", [datetime(2024, 2, 1), datetime(2024, 4, 3), "C1-2"])  # 1-2 and 3-4, day first
    findings = refused(tmp_path, headers, rows, SPAN)
    assert [(finding.row, finding.rule) for finding in findings] == [(2, "turned_into_date"), (3, "turned_into_date")]
    held = tidied(tmp_path, headers, rows, SPAN + 'turned_dates = "day_first"')
    assert column(held, "upper_level") == ["C1", "C3", "C1"]
    assert column(held, "lower_level") == ["C2", "C4", "C2"]


def test_a_range_that_became_a_date_is_turned_back(tmp_path: Path) -> None:
    headers, rows = one("ADI", [datetime(2024, 3, 4)])  # 3-4, month first
    ruled = ADI + 'between = "middle"\nturned_dates = "month_first"'
    assert column(tidied(tmp_path, headers, rows, ruled), "adi_mm") == ["3.5"]


def test_lost_zeros_are_put_back_if_the_map_says_how_many_digits(tmp_path: Path) -> None:
    rows = [("0012", "2019-04-03"), (13, "2019-04-03")]
    assert column(tidied(tmp_path, (), rows, ""), "case_id") == ["0012", "13"]
    held = tidied(tmp_path, (), rows, "", sheet="key_digits = 4")
    assert column(held, "case_id") == ["0012", "0013"]
    assert [(change.was, change.became) for change in held.changes if change.rule == "leading zeros"] == []


def test_zeros_that_only_a_format_shows_are_kept(tmp_path: Path) -> None:
    def shown_with_zeros(held: Workbook) -> None:
        held["Registry"]["A2"].number_format = "0000"

    held = tidied(tmp_path, (), [(12, "2019-04-03")], "", edit=shown_with_zeros)
    assert column(held, "case_id") == ["0012"]


def test_digits_that_are_gone_are_not_made_up(tmp_path: Path) -> None:
    rows = [("1.2E+11", "2019-04-03"), (1.2345678901234567e18, "2019-04-03"), (10.5, "2019-04-03")]
    findings = refused(tmp_path, (), rows, "")
    assert [(finding.row, finding.rule) for finding in findings] == [(row, "digits_lost") for row in (2, 3, 4)]


def test_a_key_that_became_a_date_is_found(tmp_path: Path) -> None:
    assert rules(refused(tmp_path, (), [(datetime(2024, 3, 4), "2019-04-03")], "")) == ["turned_into_date"]


def test_dashes_and_blanks_of_all_kinds(tmp_path: Path) -> None:
    dash, blank, minus = "\N{EN DASH}", "\N{NO-BREAK SPACE}", "\N{MINUS SIGN}"
    headers, rows = one("ADI", [f"{dash}2", f"{minus}2", f"{blank}4.2{blank}mm", f"3{dash}4"])
    held = tidied(tmp_path, headers, rows, ADI + 'between = "middle"')
    assert column(held, "adi_mm") == ["-2", "-2", "4.2", "3.5"]
    assert [change.rule for change in held.changes if change.column == "ADI" and change.row] == [
        "minus", "minus", "unit", "range",
    ]  # fmt: skip


def test_commas_for_points_are_declared(tmp_path: Path) -> None:
    headers, rows = one("ADI", ["3,5", "3.5"])
    assert rules(refused(tmp_path, headers, rows, ADI)) == ["decimal_comma"]
    assert rules(refused(tmp_path, headers, rows, ADI + 'decimal = "comma"')) == ["decimal_point"]
    assert column(tidied(tmp_path, headers, rows, ADI + 'decimal = "either"'), "adi_mm") == ["3.5", "3.5"]


def test_thousands_are_never_read_as_decimals(tmp_path: Path) -> None:
    headers, rows = one("ADI", ["1,234", "1,234.5"])
    assert rules(refused(tmp_path, headers, rows, ADI + 'decimal = "either"')) == ["thousands", "thousands"]
