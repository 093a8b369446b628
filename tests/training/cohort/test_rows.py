"""Further tables: joined, folded to predictors and the outcome as declared, and held against the children's."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest

from riskmodel.cases import State, column
from riskmodel.cases.sheet import Sheet
from riskmodel.cases.table import Floats
from riskmodel.errors import CasesRefused, Finding, Severity
from tests.training.cohort.children import SHORT, Columns, children, with_cell, without
from tests.training.cohort.further import corridors, events, folder, measures, screws
from training import cohort, protocol
from training.cohort import Cohort, Status
from training.cohort.rows.anchors import folded
from training.cohort.rows.further import Long
from training.cohort.rows.readers import readers_of
from training.protocol import Form, FromRows, Predictor, Protocol
from training.protocol.row_rules import AnchorRule, End, Fold

Tables = dict[str, Columns]
Read = Callable[..., Cohort]
Refuse = Callable[..., tuple[Finding, ...]]

LAST_CT = {"when": "last before operation", "modality": "CT", "position": "neutral"}


def asked(*predictors: Predictor, outcome: FromRows | None = None) -> Protocol:
    """The shipped short protocol with predictors more, and its outcome perhaps from rows."""
    held = protocol.read(SHORT)
    more = tuple(each for each in held.predictors if each.variable not in {one.variable for one in predictors})
    return replace(held, predictors=(*more, *predictors), outcome=replace(held.outcome, from_rows=outcome))


def made(variable: str, table: str, **options: object) -> Predictor:
    return Predictor(variable, Form.LINEAR, from_rows=FromRows(table, MappingProxyType(options)))


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """The cohort of 20 children and further tables under the short protocol with further predictors."""

    def of(
        *predictors: Predictor, outcome: FromRows | None = None, own: Columns | None = None, **tables: Columns
    ) -> Cohort:
        held = folder(tmp_path / "cohort", children=own or children(20), **tables)
        return cohort.read(held, asked(*predictors, outcome=outcome))

    return of


@pytest.fixture
def refuse(read: Read) -> Refuse:
    """The errors for which they are refused."""

    def of(*arguments: object, **tables: object) -> tuple[Finding, ...]:
        with pytest.raises(CasesRefused) as refused:
            read(*arguments, **tables)
        return tuple(held for held in refused.value.findings if held.severity is Severity.ERROR)

    return of


def warnings(held: Cohort, rule: str) -> list[str]:
    return [finding.found for finding in held.findings if finding.rule == rule]


# Tables with one row per child


def test_tables_with_one_row_per_child_are_joined_by_key_in_any_order(read: Read) -> None:
    anatomy = {"case_id": ["X-002", "X-000"], "powers_ratio": ["0.8", "1.1"]}

    held = read(made("powers_ratio", "anatomy"), anatomy=anatomy)

    assert held.cases["powers_ratio"].values[:3].tolist() == pytest.approx([1.1, np.nan, 0.8], nan_ok=True)
    assert held.cases["powers_ratio"].missing.sum() == 18


def test_a_row_for_each_side_makes_a_column_for_each_side(read: Read) -> None:
    rows = {"case_id": ["X-001", "X-001", "X-002"], "side": ["left", "right", "left"], "cci_mm": ["2", "3", "4"]}

    held = read(sides=rows)

    assert held.cases["cci_left_mm"].values[:3].tolist() == pytest.approx([np.nan, 2, 4], nan_ok=True)
    assert held.cases["cci_right_mm"].values[:3].tolist() == pytest.approx([np.nan, 3, np.nan], nan_ok=True)


def test_a_side_that_is_none_is_refused(refuse: Refuse) -> None:
    (finding,) = refuse(sides={"case_id": ["X-001", "X-002"], "side": ["links", "left"], "cci_mm": ["2", "4"]})

    assert str(finding) == "error: sides, row 2, column side: found links; accepted: one of right, left"


def test_two_tables_that_disagree_are_both_named_with_rows_and_values(refuse: Refuse) -> None:
    own = {**children(20), "powers_ratio": ["0.9"] * 20}

    (finding,) = refuse(own=own, anatomy={"case_id": ["X-002", "X-003"], "powers_ratio": ["0.9", "1.0"]})

    assert finding.sheet == "anatomy"
    assert (finding.row, finding.column) == (3, "powers_ratio")
    assert finding.found == "1, but row 5 of children has 0.9"


def test_a_value_that_both_tables_have_alike_and_one_that_only_one_has_pass(read: Read) -> None:
    own = {**children(20), "powers_ratio": ["0.9", "", *["1.0"] * 18]}

    held = read(own=own, anatomy={"case_id": ["X-000", "X-001"], "powers_ratio": ["0.90", "0.7"]})

    assert held.cases["powers_ratio"].values[:3].tolist() == [0.9, 0.7, 1.0]


def test_rows_of_nobody_cells_that_cannot_be_and_double_children_are_all_said_at_once(refuse: Refuse) -> None:
    anatomy = {"case_id": ["X-900", "X-001", "X-001"], "powers_ratio": ["1", "many", "1"]}

    found = {(finding.row, finding.rule) for finding in refuse(anatomy=anatomy)}

    assert found == {(2, "unknown_child"), (3, "not_a_number"), (4, "duplicate_key")}


def test_a_joined_predictor_needs_its_table(refuse: Refuse) -> None:
    (finding,) = refuse(made("powers_ratio", "anatomy"))

    assert finding.column == "predictor[9].from"
    assert finding.accepted == "a column powers_ratio in the table anatomy"


# Measurements


def test_the_last_measurement_before_the_operation_counts(read: Read) -> None:
    rows = measures(
        ("X-000", "-9", "5", "ct", "A"),
        ("X-000", "-1", "6", "ct", "A"),
        ("X-000", "0", "7", "ct", "A"),
        ("X-000", "3", "8", "ct", "A"),
        ("X-000", "-0.5", "9", "film", "A"),
        ("X-001", "4", "3", "ct", "A"),
    )

    held = read(made("adi_mm", "measures", **LAST_CT), measures=rows)

    assert held.cases["adi_mm"].values[0] == 7
    assert held.cases["adi_mm"].missing[1:].all()
    first = read(made("adi_mm", "measures", **{**LAST_CT, "when": "first before operation"}), measures=rows)
    assert first.cases["adi_mm"].values[0] == 5


def test_rows_under_traction_or_in_another_position_do_not_count(read: Read) -> None:
    rows = measures(("X-000", "-3", "5", "ct", "A"), ("X-000", "-2", "2", "ct", "A"), ("X-000", "-1", "9", "ct", "A"))
    rows["measure_traction"][1] = "yes"
    rows["measure_position"][2] = "flexion"

    assert read(made("adi_mm", "measures", **LAST_CT), measures=rows).cases["adi_mm"].values[0] == 5
    under = read(made("adi_mm", "measures", **LAST_CT, traction=True), measures=rows)
    assert under.cases["adi_mm"].values[0] == 2


def test_two_readers_are_averaged_where_declared_and_their_sd_is_kept(read: Read, refuse: Refuse) -> None:
    rows = measures(
        ("X-000", "-1", "5.0", "ct", "A"),
        ("X-000", "-1", "6.0", "ct", "B"),
        ("X-001", "-1", "3.0", "ct", "A"),
        ("X-001", "-1", "3.4", "ct", "B"),
        ("X-002", "-1", "4.0", "ct", "A"),
    )

    held = read(made("adi_mm", "measures", **LAST_CT, readers="mean"), measures=rows)

    assert held.cases["adi_mm"].values[:3].tolist() == [5.5, 3.2, 4.0]
    assert held.readers["adi_mm"].children == 2
    # Dahlberg (1940): the SD of a single reading of pairs is sqrt(sum d^2 / 2n); formula from memory
    assert held.readers["adi_mm"].sd == pytest.approx(np.sqrt((1.0**2 + 0.4**2) / 4))

    found = refuse(made("adi_mm", "measures", **LAST_CT), measures=rows)
    assert [(finding.row, finding.rule) for finding in found] == [(3, "readers"), (5, "readers")]
    assert 'readers = "mean"' in found[0].accepted


def test_the_sd_of_readers_is_the_residual_sd_of_an_analysis_of_variance() -> None:
    """Against ordinary least squares on one column per child (numpy's lstsq)."""
    rng = np.random.default_rng(5)
    readings = [list(rng.normal(place, 0.7, size)) for place, size in enumerate([1, 2, 3, 2, 4])]
    several = [each for each in readings if len(each) > 1]
    y = np.concatenate(several)
    of = np.repeat(np.arange(len(several)), [len(each) for each in several])
    x = np.equal.outer(of, np.arange(len(several))).astype(float)
    _, squares, *_ = np.linalg.lstsq(x, y, rcond=None)

    held = readers_of(readings)

    assert held is not None
    assert held.children == 4
    assert held.sd == pytest.approx(np.sqrt(squares[0] / (len(y) - len(several))))
    assert readers_of(readings[:1]) is None


def test_another_modality_stands_in_only_where_declared_and_is_said(read: Read) -> None:
    rows = measures(
        ("X-000", "-1", "5", "film", "A"), ("X-001", "-9", "3", "ct", "A"), ("X-001", "-1", "4", "film", "A")
    )

    strict = read(made("adi_mm", "measures", **LAST_CT), measures=rows)
    marked = read(made("adi_mm", "measures", **LAST_CT, **{"else": "film+marked"}), measures=rows)

    assert strict.cases["adi_mm"].values[:2].tolist() == pytest.approx([np.nan, 3], nan_ok=True)
    assert warnings(strict, "modality_stands_in") == []
    assert marked.cases["adi_mm"].values[:2].tolist() == [5, 3]
    assert warnings(marked, "modality_stands_in") == ["1 children have a film in place of a ct"]


def test_a_childs_own_value_must_lie_among_its_readings(read: Read, refuse: Refuse) -> None:
    rows = measures(("X-000", "-1", "5.0", "ct", "A"), ("X-000", "-1", "6.0", "ct", "B"))
    rule = made("adi_mm", "measures", **LAST_CT, readers="mean")

    held = read(rule, own={**children(20), "adi_mm": ["5.0", *[""] * 18, "not_measurable"]}, measures=rows)
    assert held.cases["adi_mm"].values[0] == 5.5
    assert held.cases["adi_mm"].states[19] == State.NOT_MEASURABLE

    (finding,) = refuse(rule, own={**children(20), "adi_mm": ["6.2", *[""] * 19]}, measures=rows)
    assert (finding.sheet, finding.rule) == ("measures", "tables_disagree")
    assert "row 2 of children has 6.2" in finding.found


def test_a_child_with_a_value_but_no_row_is_counted_and_missing(read: Read) -> None:
    own = {**children(20), "adi_mm": ["5.0", "4.0", *[""] * 18]}

    held = read(made("adi_mm", "measures", **LAST_CT), own=own, measures=measures(("X-000", "-1", "5", "ct", "A")))

    assert held.cases["adi_mm"].missing[1]
    assert warnings(held, "rows_lacking") == ["1 children have a value in children and no row that makes one"]


def test_values_are_held_against_the_variable_that_they_measure(refuse: Refuse) -> None:
    rows = measures(("X-000", "-1", "99", "ct", "A"), ("X-001", "-1", "3", "ct", "A"), ("X-002", "-1", "3", "ct", "A"))
    rows["measure_unit"][1] = "cm"
    rows["measure_variable"][2] = "adi"

    found = {(finding.row, finding.rule) for finding in refuse(measures=rows)}

    assert found == {(2, "outside_hard"), (3, "other_unit"), (4, "unknown_variable")}


# Screws and corridors

PEDICLES = (
    ("X-001", "c1_lateral_mass", "right", "C1", "3.5"),
    ("X-001", "c1_lateral_mass", "left", "C1", "3.5"),
    ("X-001", "c2_pedicle", "right", "C2", "3.5"),
    ("X-001", "c2_lamina", "left", "C3", "3.5"),
    ("X-003", "hook", "left", "C1", "not_applicable"),
)
PATHS = (
    ("X-001", "c1_lateral_mass", "right", "C1", "8.0", ""),
    ("X-001", "c1_lateral_mass", "left", "C1", "4.0", "3.6"),  # 0.1 mm beside the screw: barely
    ("X-001", "c2_pedicle", "right", "C2", "4.0", "6.0"),  # exactly 0.5: fits
    ("X-001", "c2_lamina", "left", "C3", "3.0", ""),  # narrower than the screw
)


@pytest.mark.parametrize(
    ("variable", "options", "expected"),
    [
        ("weaker_end_half_anchors", {"fold": "count", "without": "none"}, [0, 4, 0, 1]),
        ("weaker_end_half_anchors", {"fold": "count", "without": "missing"}, [np.nan, 4, np.nan, 1]),
        ("n_barely", {"fold": "count", "site": ["c2_lamina"], "without": "none"}, [0, 1, 0, 0]),
        ("n_barely", {"fold": "count", "end": "upper", "without": "none"}, [0, 2, 0, 1]),
        ("n_barely", {"fold": "count", "end": "weaker", "without": "none"}, [0, 1, 0, 0]),
        ("n_barely", {"fold": "n_barely", "without": "none"}, [0, 1, 0, 0]),
        ("n_barely", {"fold": "n_fits", "without": "none"}, [0, 2, 0, 0]),
        ("min_margin_mm", {"fold": "min_margin_mm"}, [np.nan, -0.5, np.nan, np.nan]),
    ],
)
def test_screws_fold_to_counts_and_margins(
    read: Read, variable: str, options: dict[str, object], expected: list[float]
) -> None:
    held = read(made(variable, "screws", **options), screws=screws(*PEDICLES), corridors=corridors(*PATHS))

    assert held.cases[variable].values[:4].tolist() == pytest.approx(expected, nan_ok=True)
    if variable == "min_margin_mm":
        assert held.cases[variable].states[3] == State.NOT_APPLICABLE  # a hook alone


def test_one_screw_without_a_measured_corridor_leaves_the_margin_unknown(read: Read) -> None:
    rule = made("min_margin_mm", "screws", fold="min_margin_mm")

    own = screws(*PEDICLES[:3], ("X-005", "c2_pars", "left", "C2", "3.5"), ("X-005", "c2_pars", "right", "C2", "3.5"))
    paths = corridors(*PATHS[:3], ("X-005", "c2_pars", "left", "C2", "4.5", ""))
    held = read(rule, screws=own, corridors=paths)

    assert held.cases["min_margin_mm"].values[1] == pytest.approx(0.1)
    assert held.cases["min_margin_mm"].missing[5]


def test_corridors_fold_with_the_declared_screw(read: Read) -> None:
    paths = {"corridors": corridors(*PATHS, ("X-002", "c2_pedicle", "left", "C2", "not_applicable", ""))}
    held = read(made("min_margin_mm", "corridors", fold="min_margin_mm", diameter_mm=3.0), **paths)
    assert held.cases["min_margin_mm"].values[1] == pytest.approx(0.0)

    fits = read(made("n_barely", "corridors", fold="n_fits", diameter_mm=3.0, without="missing"), **paths)
    assert fits.cases["n_barely"].values[:3].tolist() == pytest.approx([np.nan, 3, 0], nan_ok=True)


def test_any_breach_of_grade_two_is_a_yes_and_a_screw_that_nobody_looked_at_is_no_no() -> None:
    """Asked of the fold itself: the shipped dictionary has no yes_no variable that is known only from follow-up."""
    level = column([1, 2, 1, 2, 1, 2])  # C1 and C2 in turn
    grades = column([1, 2, 0, 0, 0, np.nan])
    table = Long(
        Sheet("screws", range(2, 8)), np.array([0, 0, 1, 1, 2, 2]), {"breach_grade": grades, "screw_level": level}
    )
    ends = {"upper_level": column([1, 1, 1, 1]), "lower_level": column([2, 2, 2, 2])}
    known = asked().dictionary.variables

    def breach(end: End | None) -> Floats:
        rule = AnchorRule("screws", Fold.BREACH, end=end)
        return folded({"screws": table}, rule, ends, known, known["n_barely"]).values

    assert breach(None) == pytest.approx([1, 0, np.nan, np.nan], nan_ok=True)
    assert breach(End.UPPER) == pytest.approx([0, 0, 0, np.nan], nan_ok=True)


def test_a_count_that_the_children_contradict_is_refused(refuse: Refuse) -> None:
    own = without(children(20), "weaker_end_anchors") | {"weaker_end_anchors": ["", "2", *[""] * 18]}
    rule = made("weaker_end_anchors", "screws", fold="count", end="weaker", without="missing")

    (finding,) = refuse(rule, own=own, screws=screws(*PEDICLES))

    assert finding.found == "1, but row 3 of children has 2"


# Events

FROM_EVENTS = FromRows("events", MappingProxyType({"without": "no"}))
FAILED = tuple((f"X-{place:03d}", "non_union", "10") for place in range(0, 20, 4))


def test_the_first_qualifying_event_makes_the_outcome(read: Read) -> None:
    own = without(children(20), "fixation_failure", "fixation_failure_months")
    rows = events(
        *FAILED, ("X-000", "screw_pull_out", "8"), ("X-001", "lucency_only", "3"), ("X-004", "non_union", "12")
    )

    held = read(outcome=FROM_EVENTS, own=own, events=rows)

    assert np.flatnonzero(held.course.status == Status.EVENT).tolist() == [0, 4, 8, 12, 16]
    assert held.course.timed[[0, 4, 1]].tolist() == [8, 10, 12]
    assert {name: count for name, count in held.made_of.items() if count} == {"non_union": 4, "screw_pull_out": 1}


def test_children_without_an_event_are_unknown_where_the_protocol_says_so(read: Read) -> None:
    own = without(children(20), "fixation_failure", "fixation_failure_months")
    unknown = FromRows("events", MappingProxyType({"without": "unknown"}))

    held = read(outcome=unknown, own=own, events=events(*FAILED))

    assert np.bincount(held.course.status, minlength=4).tolist() == [0, 5, 0, 15]


def test_events_and_core_columns_that_agree_give_the_same_course(read: Read) -> None:
    plain, by_events = read(), read(outcome=FROM_EVENTS, events=events(*FAILED))

    assert by_events.course.status.tolist() == plain.course.status.tolist()
    assert by_events.course.timed.tolist() == plain.course.timed.tolist()


@pytest.mark.parametrize("outcome", [None, FROM_EVENTS])
def test_events_and_core_columns_that_disagree_are_both_named(refuse: Refuse, outcome: FromRows | None) -> None:
    own = with_cell(with_cell(children(20), "fixation_failure", 4, "no"), "fixation_failure_months", 4, "")
    rows = events(*FAILED[:2], ("X-008", "non_union", "11"), *FAILED[3:])

    found = [(each.sheet, each.row, each.found) for each in refuse(outcome=outcome, own=own, events=rows)]

    assert found == [
        ("events", 3, "fixation_failure, but row 6 of children says no"),
        ("events", 4, "11.0 months, but row 10 of children says 10.0"),
    ]


def test_an_event_that_the_table_of_events_lacks_is_an_error_only_where_it_makes_the_outcome(
    read: Read, refuse: Refuse
) -> None:
    held = read(events=events(*FAILED[1:]))
    assert warnings(held, "tables_disagree") == ["yes, but the table events has no row of it"]

    (finding,) = refuse(outcome=FROM_EVENTS, events=events(*FAILED[1:]))
    assert (finding.sheet, finding.row) == ("children", 2)


def test_a_return_that_was_planned_is_a_contradiction(refuse: Refuse) -> None:
    rows = events(("X-001", "return_construct", "9"))
    rows["event_planned"] = ["yes"]

    (finding,) = refuse(events=rows)

    assert finding.found == "return_construct, which is unplanned, with yes"


def test_an_event_later_than_the_last_scan_is_found_in_the_outcome_made_of_events(refuse: Refuse) -> None:
    own = without(children(20), "fixation_failure", "fixation_failure_months")

    found = refuse(outcome=FROM_EVENTS, own=own, events=events(("X-002", "non_union", "40")))

    assert {finding.rule for finding in found} == {"after_last_seen"}


def test_a_death_after_the_first_other_end_is_no_contradiction(read: Read, refuse: Refuse) -> None:
    own = with_cell(with_cell(children(20), "other_end", 2, "left_area"), "other_end_months", 2, "20")

    held = read(own=own, events=events(*FAILED, ("X-002", "death", "25")))
    assert warnings(held, "tables_disagree") == []

    found = refuse(own=own, events=events(*FAILED, ("X-002", "death", "15")))
    assert [finding.found for finding in found] == ["death, but row 4 of children says no"]


def test_a_change_against_the_first_measurement_after_the_operation_makes_the_outcome(tmp_path: Path) -> None:
    rows = measures(
        ("X-000", "1", "20", "film", "A"),
        ("X-000", "6", "25", "film", "A"),
        ("X-000", "12", "31", "film", "A"),
        ("X-001", "1", "20", "film", "A"),
        ("X-001", "8", "29", "film", "A"),
        ("X-002", "1", "20", "film", "A"),
        ("X-002", "8", "40", "ct", "A"),
        ("X-003", "-1", "20", "film", "A"),
        variable="o_c2_angle_deg",
    )
    rows["measure_unit"] = ["degrees"] * 8
    held = asked()
    options = MappingProxyType({"of": ["o_c2_angle_deg"], "at_least": 10})
    rules = replace(held.outcome, name="alignment_change", from_rows=FromRows("measures", options))

    read = cohort.read(folder(tmp_path / "c", children=children(20), measures=rows), replace(held, outcome=rules))

    assert read.course.status[:4].tolist() == [Status.EVENT, Status.FREE, Status.UNKNOWN, Status.UNKNOWN]
    assert read.course.timed[0] == 12
