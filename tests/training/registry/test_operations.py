"""One row per operation: the earliest is the index, later ones are events, earlier ones are counted."""

from pathlib import Path

import pytest

from tests.training.registry.build import column, refused, rules, tidied

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
