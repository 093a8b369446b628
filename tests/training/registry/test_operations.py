"""One row per operation: the earliest is the index, later ones are events, earlier ones are counted."""

from pathlib import Path

import pytest

from tests.training.registry.build import (
    HEAD,
    HEAD_MAP,
    ON,
    book,
    column,
    cvj,
    map_of,
    one_sheet,
    refused,
    rules,
    tidied,
)
from training.registry import files
from training.registry.tidying import tidy

OPERATIONS = """
rows = "operations"
[sheet.later_operations]
column = "Kind"
without = "no"
earlier_in = "prior_cvj_surgery"
[sheet.later_operations.codes]
"index" = "nothing"
"redo" = "revision"
"washout" = "nothing"
"elsewhere" = "earlier"
"metal out" = { other_end = "planned_removal" }
"""
SEEN = """
[sheet.column."Seen"]
to = "last_contact_date"
[sheet.column."ADI"]
to = "adi_mm"
"""
HEADERS = ("Kind", "Seen", "ADI")


def test_later_rows_become_events(tmp_path: Path) -> None:
    rows = [
        ("A-1", "2021-04-03", "redo", "2023-04-03", 3),
        ("A-1", "2019-04-03", "index", "2020-04-03", 9),
        ("A-1", "2022-04-03", "redo", None, None),
        ("A-2", "2019-04-03", "index", "2023-04-03", 5),
        ("A-2", "2019-05-03", "washout", None, None),
        ("A-3", "2019-04-03", "index", "2023-04-03", 6),
        ("A-3", "2022-04-03", "metal out", None, None),
    ]
    held = tidied(tmp_path, HEADERS, rows, SEEN, sheet=OPERATIONS)
    assert column(held, "case_id") == ["A-1", "A-2", "A-3"]
    assert column(held, "adi_mm") == ["9", "5", "6"], "baseline is that of the index operation"
    assert column(held, "revision") == ["yes", "no", "no"]
    assert column(held, "revision_months") == ["24", "", ""], "the first of two revisions"
    assert column(held, "last_contact_months") == ["48", "48", "48"], "the latest of all rows"
    assert column(held, "other_end") == ["", "", "planned_removal"]
    assert column(held, "other_end_months") == ["", "", "36"]


def test_an_operation_elsewhere_is_an_earlier_one(tmp_path: Path) -> None:
    rows = [("A-1", "2015-04-03", "elsewhere", None, None), ("A-1", "2019-04-03", "index", "2023-04-03", 4)]
    held = tidied(tmp_path, HEADERS, rows, SEEN, sheet=OPERATIONS)
    assert (column(held, "prior_cvj_surgery"), column(held, "operation_year")) == (["1"], ["2019"])
    assert column(held, "revision") == ["no"]


def test_without_a_word_for_it_nobody_is_free_of_revision(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "index", "2023-04-03", 4)]
    silent = tidied(tmp_path, HEADERS, rows, SEEN, sheet=OPERATIONS.replace('without = "no"\n', ""))
    assert "revision" not in silent.tables["children"].header


@pytest.mark.parametrize(
    ("rows", "rule"),
    [
        ([("A-1", "2019-04-03", "index"), ("A-1", None, "redo")], "no_date"),
        ([("A-1", "2019-04-03", "index"), ("A-1", "2019-04-03", "redo")], "two_on_one_day"),
        ([("A-1", "2019-04-03", "index"), ("A-1", "2020-04-03", "odd")], "unknown_word"),
        ([("A-1", "2019-04-03", "elsewhere")], "no_index"),
        ([("A-1", "2019-04-03", "index"), ("A-1", "2020-04-03", "elsewhere")], "earlier_later"),
    ],
)
def test_what_cannot_be_told_is_found(tmp_path: Path, rows: list[tuple[object, ...]], rule: str) -> None:
    filled = [(*row, "2023-04-03", 4) for row in rows]
    assert rule in rules(refused(tmp_path, HEADERS, filled, SEEN, sheet=OPERATIONS))


def test_the_index_row_may_not_deny_a_later_row(tmp_path: Path) -> None:
    more = SEEN + '[sheet.column."Revised"]\nto = "revision"\n'
    rows = [("A-1", "2019-04-03", "index", "2023-04-03", 4, "no"), ("A-1", "2020-04-03", "redo", None, None, None)]
    (finding,) = refused(tmp_path, (*HEADERS, "Revised"), rows, more, sheet=OPERATIONS)
    assert (finding.rule, finding.row, finding.found) == ("two_values", 2, "no, but row 3 is one")


def test_a_double_key_is_a_fault_only_where_rows_are_children(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", 4), ("A-1", "2021-04-03", 5)]
    adi = '[sheet.column."ADI"]\nto = "adi_mm"\n'
    (finding,) = refused(tmp_path, ("ADI",), rows, adi)
    assert (finding.rule, finding.row, finding.found) == ("double_key", 3, "the same key as row 2")
    assert 'rows = "operations"' in finding.accepted


def test_one_key_in_two_centres_is_told_apart(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "TW"), ("A-1", "2021-04-03", "CM")]
    (finding,) = refused(tmp_path, ("Centre",), rows, '[sheet.column."Centre"]\nto = "centre_id"\n')
    assert finding.rule == "key_in_two_centres"


@pytest.mark.parametrize(
    ("keys", "alike"),
    [(("TW-1", "tw 1"), True), (("TW-007", "TW-7"), True), (("TW-1", "TW-11"), False), (("A1", "B1"), False)],
)
def test_keys_that_may_be_one_child_are_asked_about(tmp_path: Path, keys: tuple[str, str], alike: bool) -> None:
    rows = [(key, "2019-04-03") for key in keys]
    if alike:
        assert rules(refused(tmp_path, (), rows, "")) == ["alike_keys"]
    else:
        assert column(tidied(tmp_path, (), rows, ""), "case_id") == list(keys)


REVISED_ON = """
[sheet.column."Revised on"]
to = "revision_date"
year_only = "missing"
when_filled = { revision = "yes" }
when_empty = { revision = "no" }
[sheet.column."Revised on".empty]
"unk" = "missing"
[sheet.column."Seen"]
to = "last_contact_date"
"""


def test_a_date_may_say_that_it_happened_and_an_empty_cell_that_it_did_not(tmp_path: Path) -> None:
    rows = [
        ("A-1", "2019-04-03", "2020-04-03", "2023-04-03"),
        ("A-2", "2019-04-03", None, "2023-04-03"),
        ("A-3", "2019-04-03", "unk", "2023-04-03"),
    ]
    held = tidied(tmp_path, ("Revised on", "Seen"), rows, REVISED_ON)
    assert column(held, "revision") == ["yes", "no", ""], "a word for why there is no date is neither"
    assert column(held, "revision_months") == ["12", "", ""]


def test_part_of_a_date_still_says_that_it_happened(tmp_path: Path) -> None:
    rows = [("A-1", "2019-04-03", "2020", "2023-04-03")]
    assert rules(refused(tmp_path, ("Revised on", "Seen"), rows, REVISED_ON)) == ["time_missing"]


def test_what_all_children_of_a_sheet_have_stays_with_that_sheet(tmp_path: Path) -> None:
    first = one_sheet(HEAD_MAP, 'always = { centre_id = "TW" }')
    second = first.partition("[[sheet]]")[2].replace('"Registry"', '"Other"').replace('"TW"', '"CM"')
    path = book(
        tmp_path / "r.xlsx", {"Registry": [HEAD, ("A-1", "2019-04-03")], "Other": [HEAD, ("B-1", "2019-04-03")]}
    )
    held = tidy(files.read(path), map_of(tmp_path, f"{first}\n[[sheet]]{second}"), cvj(), on=ON)
    assert column(held, "centre_id") == ["TW", "CM"]
