"""Reading a cohort under a protocol: what is needed, what is derived, who is eligible, what is refused."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.errors import CasesRefused, Finding, Severity, TableRefused
from tests.training.cohort.children import SHORT, Columns, children, with_cell, without, write
from training import cohort, protocol
from training.cohort import Cohort, Status
from training.protocol import Factor, Interaction, Protocol

Read = Callable[..., Cohort]
Refuse = Callable[..., tuple[Finding, ...]]

KYPHOSIS = Path(__file__).parents[2] / "reference" / "kyphosis"


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """The cohort that the columns make under the short protocol, or under a changed one."""

    def of(columns: Columns, **changes: object) -> Cohort:
        return cohort.read(write(columns, tmp_path / "children.csv"), asked(**changes))

    return of


@pytest.fixture
def refuse(read: Read) -> Refuse:
    """The errors for which the columns are refused."""

    def of(columns: Columns, **changes: object) -> tuple[Finding, ...]:
        with pytest.raises(CasesRefused) as refused:
            read(columns, **changes)
        return tuple(held for held in refused.value.findings if held.severity is Severity.ERROR)

    return of


def asked(**changes: object) -> Protocol:
    return replace(protocol.read(SHORT), **changes)  # type: ignore[arg-type]


def test_a_cohort_holds_cases_course_centre_and_year(read: Read) -> None:
    held = read(children(60))

    assert len(held) == 60
    assert held.cases.keys[:2] == ("X-000", "X-001")
    assert np.bincount(held.course.status, minlength=4).tolist() == [45, 15, 0, 0]
    assert sorted(set(held.course.timed.tolist())) == [10, 12, 30]
    assert held.centre is not None
    assert held.centre.labels == ("CM", "TW")
    assert held.year is not None
    assert held.year.values[:3].tolist() == [2010, 2011, 2012]
    assert held.flow == ()


def test_derived_variables_and_groups_are_columns_that_the_dictionary_knows(read: Read) -> None:
    held = read(children(10))

    assert held.cases["includes_occiput"].values.tolist() == [1, 0] * 5
    assert held.dictionary.variables["includes_occiput"].label == "Occiput included"
    groups = held.dictionary.variables["biology_group"].codes
    assert [groups[int(value)] for value in held.cases["biology_group"].values[:3]] == [
        "laxity",
        "dysplasia",
        "storage",
    ]


def test_the_open_kyphosis_data_are_read_through_the_same_door() -> None:
    """81 children after corrective spinal surgery, 17 with kyphosis (Chambers & Hastie 1992; R package rpart)."""
    held = cohort.read(KYPHOSIS / "kyphosis.csv", protocol.read(KYPHOSIS / "kyphosis.toml"))

    assert len(held) == 81
    assert held.course.months is None
    assert np.count_nonzero(held.course.status == Status.EVENT) == 17
    assert held.cases["Start"].values[:3].tolist() == [5, 14, 5]
    assert held.findings == ()


def test_only_eligible_children_stay_and_the_flow_says_why_the_others_left(read: Read) -> None:
    columns = with_cell(with_cell(children(20), "prior_cvj_surgery", 3, "2"), "prior_cvj_surgery", 4, "")

    held = read(columns)

    assert len(held) == 18
    assert "X-003" not in held.cases.keys
    label = "Earlier operations at the craniovertebral junction: at most 1 operation"
    assert held.flow == ((f"does not meet: {label}", 1), (f"not known whether: {label}", 1))


def test_nobody_eligible_is_refused(refuse: Refuse) -> None:
    columns = {**children(12), "prior_cvj_surgery": ["3"] * 12}

    (finding,) = refuse(columns)

    assert finding.found == "none of 12 children eligible"


def test_needed_columns_that_are_absent_are_all_named(refuse: Refuse) -> None:
    columns = without(children(20), "reduces", "upper_level", "centre_id", "last_scan_months", "condition")

    named = {finding.column for finding in refuse(columns)}

    assert named == {"reduces", "upper_level", "centre_id", "last_scan_months", "condition"}


def test_every_bad_cell_is_found_at_once_with_its_row(refuse: Refuse) -> None:
    columns = with_cell(with_cell(children(20), "age_years", 0, "nine"), "condition", 5, "downs")
    columns = with_cell(columns, "fixation_failure_months", 8, "31")

    places = [(finding.row, finding.column) for finding in refuse(columns)]

    assert sorted(places, key=str) == [(10, "fixation_failure_months"), (2, "age_years"), (7, "condition")]


def test_a_failure_after_death_is_refused(refuse: Refuse) -> None:
    columns = with_cell(with_cell(children(20), "other_end", 0, "death"), "other_end_months", 0, "6")

    (finding,) = refuse(columns)

    assert (finding.row, finding.column) == (2, "fixation_failure_months")
    assert finding.found == "fixation_failure after 10.0 months, but death after 6.0"


def test_dates_are_turned_into_months_and_only_the_year_is_kept(read: Read) -> None:
    columns = without(children(20), "operation_year", "fixation_failure_months", "last_scan_months")
    yes = [status == "yes" for status in columns["fixation_failure"]]
    columns |= {
        "operation_date": ["2015-03-10"] * 20,
        "fixation_failure_date": ["2016-01-10" if each else "" for each in yes],
        "last_scan_date": ["2017-03-10"] * 20,
    }

    held = read(columns)

    assert held.course.timed[0] == 10
    assert held.course.timed[1] == 24
    assert held.year is not None
    assert set(held.year.values.tolist()) == {2015}
    assert "operation_date" not in held.cases


def test_a_constant_predictor_passes_with_a_warning(read: Read) -> None:
    held = read({**children(20), "weaker_end_anchors": ["2"] * 20})

    assert [(finding.column, finding.rule) for finding in held.findings] == [("weaker_end_anchors", "constant_column")]


def test_a_predictor_without_any_value_is_refused(refuse: Refuse) -> None:
    (finding,) = refuse({**children(20), "atlas_ring": [""] * 20})

    assert (finding.column, finding.found) == ("atlas_ring", "no value in any of 20 eligible children")


def test_an_end_that_no_column_tells_of_is_said(read: Read) -> None:
    held = read(without(children(20), "other_end", "other_end_months"))

    assert [(finding.column, finding.rule) for finding in held.findings] == [
        ("death", "untold_end"),
        ("planned_removal", "untold_end"),
    ]


def test_a_factor_of_an_interaction_needs_values_too(read: Read, refuse: Refuse) -> None:
    product = Interaction((Factor("sex", "male"), Factor("includes_occiput")))
    assert len(read(children(20), interactions=(product,))) == 20

    (finding,) = refuse({**children(20), "sex": [""] * 20}, interactions=(product,))
    assert (finding.column, finding.rule) == ("sex", "no_value")


def test_every_outcome_that_the_cohort_tells_is_a_definition(read: Read) -> None:
    columns = {**children(20), "revision": ["no"] * 20, "revision_months": [""] * 20}

    held = read(columns)

    assert set(held.definitions) == {"fixation_failure", "revision", "death"}
    assert held.definitions["fixation_failure"].status.tolist() == held.course.status.tolist()
    assert not held.definitions["revision"].status.any()


def test_an_outcome_given_by_its_events_says_what_it_was_made_of(read: Read) -> None:
    columns = without(children(20), "fixation_failure", "fixation_failure_months")
    events = protocol.read(SHORT).dictionary.outcomes["fixation_failure"].first_of
    columns |= {event: ["no"] * 20 for event in events} | {f"{event}_months": [""] * 20 for event in events}
    for place, event in ((0, "non_union"), (4, "non_union"), (8, "screw_pull_out")):
        columns = with_cell(with_cell(columns, event, place, "yes"), f"{event}_months", place, "12")

    held = read(columns)

    assert np.flatnonzero(held.course.status == Status.EVENT).tolist() == [0, 4, 8]
    assert {name: count for name, count in held.made_of.items() if count} == {"non_union": 2, "screw_pull_out": 1}


def test_the_deed_stands_in_for_the_plan_only_where_the_protocol_says_so(read: Read, refuse: Refuse) -> None:
    columns = children(20)
    columns["done_construct_kind"] = columns.pop("construct_kind")

    held = read(columns, planned_from_operation_note=True)

    assert held.cases["construct_kind"].values.tolist() == held.cases["done_construct_kind"].values.tolist()
    assert {finding.column for finding in refuse(columns)} == {"construct_kind"}


def test_a_workbook_needs_one_table_of_children_among_several(tmp_path: Path) -> None:
    folder = tmp_path / "cohort"
    folder.mkdir()
    write(children(20), folder / "children.csv")
    write({"case_id": ["X-001"], "kind": ["x"]}, folder / "events.csv")
    assert len(cohort.read(folder, asked())) == 20

    (folder / "children.csv").rename(folder / "kids.csv")
    with pytest.raises(TableRefused, match="tables named events, kids; accepted: one table named children"):
        cohort.read(folder, asked())


def test_chosen_children_keep_everything_that_is_theirs(read: Read) -> None:
    held = read(children(20))
    part = held.take(np.array([4, 2]))

    assert part.cases.keys == ("X-004", "X-002")
    assert part.course.status.tolist() == [1, 0]
    assert part.year is not None
    assert part.year.values.tolist() == [2014, 2012]
    assert part.definitions["fixation_failure"].timed.tolist() == [10, 30]
