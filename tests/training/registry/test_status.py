"""Status that changed with time: alive in 2018, seen in 2023."""

from pathlib import Path

from tests.training.registry.build import column, refused, rules, tidied

STATUS = """
[sheet.column."Status"]
to = "other_end"
as_of = "in_cell"
as_of_to = "last_contact_date"
final = ["death"]
year_only = "middle"
[sheet.column."Status".codes]
"alive" = "none"
"died" = "death"
[sheet.column."Seen"]
to = "last_contact_date"
year_only = "middle"
"""


def test_the_later_contact_holds(tmp_path: Path) -> None:
    rows = [
        ("A-1", "2015-04-03", "alive at 2018", "2023-04-03"),
        ("A-2", "2015-04-03", "alive (2020)", "2018-04-03"),
        ("A-3", "2015-04-03", "alive", "2018-04-03"),
        ("A-4", "2015-04-03", "alive 2018", None),
    ]
    held = tidied(tmp_path, ("Status", "Seen"), rows, STATUS)
    assert column(held, "other_end") == ["none"] * 4
    assert column(held, "last_contact_months") == ["96", "62.93", "36", "38.93"]  # 2023; 1 July 2020; 2018; 1 July 2018


def test_a_whole_date_beats_the_bare_year_of_a_status(tmp_path: Path) -> None:
    rows = [("A-1", "2015-04-03", "alive 2018", "2018-02-03")]
    assert column(tidied(tmp_path, ("Status", "Seen"), rows, STATUS), "last_contact_months") == ["34"]


def test_an_end_carries_its_own_day(tmp_path: Path) -> None:
    rows = [("A-1", "2015-04-03", "died 2018", "2017-04-03")]
    held = tidied(tmp_path, ("Status", "Seen"), rows, STATUS)
    assert (column(held, "other_end"), column(held, "other_end_months")) == (["death"], ["38.93"])


def test_nobody_is_seen_after_the_end(tmp_path: Path) -> None:
    rows = [("A-1", "2015-04-03", "died 2018", "2023-04-03")]
    findings = refused(tmp_path, ("Status", "Seen"), rows, STATUS)
    assert "seen_after_end" in rules(findings)
    assert findings[0].found == "an end in 2018, but seen on 2023-04-03"
