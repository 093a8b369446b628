"""Further tables, and what a cohort looks like as a whole when it comes from a registry."""

from pathlib import Path

import pandas as pd
import pytest

from riskmodel import tables
from riskmodel.errors import Refused
from tests.demonstration import FOLDER
from tests.training.registry.build import HEAD, HEAD_MAP, ON, book, column, cvj, map_of, one, one_sheet, rules, tidied
from training import cohort as cohorts
from training import protocol as protocols
from training.registry import files
from training.registry.tidying import tidy, write

ROWS = [HEAD, ("A-1", "2019-04-03"), ("A-2", "2020-04-03")]
SCREWS = (
    one_sheet(HEAD_MAP)
    + """
[[sheet]]
name = "Screws"
becomes = "screws"
[sheet.column."Child"]
to = "case_id"
[sheet.column."Length"]
to = "screw_len_mm"
"""
)
EVENTS = (
    one_sheet(HEAD_MAP)
    + """
[[sheet]]
name = "Events"
becomes = "events"
[sheet.column."Child"]
to = "case_id"
[sheet.column."Kind"]
to = "event_kind"
[sheet.column."Kind".codes]
"broken" = "rod_or_screw_breakage"
[sheet.column."Day"]
to = "event_date"
"""
)


def test_rows_of_a_further_table_keep_their_children(tmp_path: Path) -> None:
    screws = [("Child", "Length"), ("A-2", 24), ("A-1", "2.6 cm"), ("A-2", 22)]
    path = book(tmp_path / "registry.xlsx", {"Registry": ROWS, "Screws": screws})
    text = SCREWS.replace('becomes = "children"', 'becomes = "children"\nkeys = "new"', 1)
    held = tidy(files.read(path), map_of(tmp_path, text), cvj(), on=ON)
    assert column(held, "case_id", "screws") == ["K002", "K001", "K002"]
    assert column(held, "screw_len_mm", "screws") == ["24", "26", "22"]
    write(held, tmp_path / "cohort", tmp_path / "changes.csv")
    assert [table.sheet for table in tables.read(tmp_path / "cohort")] == ["children", "screws"]


def test_events_are_counted_from_the_operation_of_their_child(tmp_path: Path) -> None:
    events = [("Child", "Kind", "Day"), ("A-2", "broken", "2022-04-03"), ("A-1", "broken", "2020-10-03")]
    path = book(tmp_path / "registry.xlsx", {"Registry": ROWS, "Events": events})
    held = tidy(files.read(path), map_of(tmp_path, EVENTS), cvj(), on=ON)
    assert column(held, "event_months", "events") == ["24", "18"]


def test_faults_of_a_further_table_are_found(tmp_path: Path) -> None:
    screws = [("Child", "Length"), ("A-9", 24), ("A-1", 900)]
    path = book(tmp_path / "registry.xlsx", {"Registry": ROWS, "Screws": screws})
    with pytest.raises(Refused) as caught:
        tidy(files.read(path), map_of(tmp_path, SCREWS), cvj(), on=ON)
    assert [(finding.sheet, finding.row, finding.rule) for finding in caught.value.findings] == [
        ("Screws", 2, "unknown_key"),
        ("Screws", 3, "outside_hard"),
    ]


def test_what_a_child_has_several_of_is_no_column_of_the_child(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"Registry": ROWS, "Screws": [("Child", "Length"), ("A-1", 24)]})
    for text in (
        SCREWS.replace('becomes = "screws"', 'becomes = "children"\nrows = "further_columns"'),
        SCREWS.replace("screw_len_mm", "adi_mm"),
    ):
        with pytest.raises(Refused) as caught:
            tidy(files.read(path), map_of(tmp_path, text), cvj(), on=ON)
        assert rules(caught.value.findings) == ["wrong_table"]


def test_a_small_number_among_large_ones_is_doubted(tmp_path: Path) -> None:
    headers, rows = one("ADI", [0.35, 3.5, 4.1, 2.8, 0.4])
    held = tidied(tmp_path, headers, rows, '[sheet.column."ADI"]\nto = "adi_mm"\n')
    doubted = [(finding.row, finding.column) for finding in held.findings if finding.rule == "other_unit"]
    assert doubted == [(2, "ADI")], "0.4 is as fine as the interval is measured; 0.35 is finer"


def _as_registry(cohort: pd.DataFrame) -> list[list[object]]:
    """The demonstration cohort as a department would hold it: dates for months, its own words."""
    held = cohort.copy()
    start = pd.to_datetime(held["operation_year"].astype(int).astype(str) + "-05-03")
    held.insert(2, "Op", start.dt.strftime("%Y-%m-%d"))
    held["sex"] = held["sex"].map({"female": "F", "male": "M"}).fillna("U")
    return [list(held.columns), *held.astype(object).where(held.notna(), None).values.tolist()]


def test_a_tidied_registry_is_a_cohort_that_a_protocol_accepts(tmp_path: Path) -> None:
    made = pd.read_csv(FOLDER / "children.csv")
    rows = _as_registry(made)
    skipped = '[sheet.column."operation_year"]\nnot_carried = "not_needed"\n'
    special = {"Op": "operation_date", "operation_year": None}
    text = "".join(
        skipped if name == "operation_year" else f'[sheet.column."{name}"]\nto = "{special.get(str(name), name)}"\n'
        for name in rows[0]
    )
    sexes = '[sheet.column."sex".codes]\n"F" = "female"\n"M" = "male"\n"U" = "other_or_unknown"\n'
    path = book(tmp_path / "registry.xlsx", {"Registry": rows})
    text = text.replace('to = "sex"\n', 'to = "sex"\n' + sexes)
    write(
        tidy(files.read(path), map_of(tmp_path, one_sheet(text)), cvj(), on=ON), tmp_path / "cohort", tmp_path / "c.csv"
    )
    protocol = protocols.read("fixation_failure_24m")
    ours, theirs = cohorts.read(tmp_path / "cohort", protocol), cohorts.read(FOLDER / "children.csv", protocol)
    assert ours.cases.keys == theirs.cases.keys
    for name in theirs.cases.columns:
        assert ours.cases[name].states.tolist() == theirs.cases[name].states.tolist(), name
        present = theirs.cases[name].present
        assert ours.cases[name].values[present].tolist() == theirs.cases[name].values[present].tolist(), name
    assert ours.course.status.tolist() == theirs.course.status.tolist()
