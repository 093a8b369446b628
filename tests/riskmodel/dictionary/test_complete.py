"""The shipped dictionary is whole: each expected entry, each field or a written reason, no published value refused."""

import csv
import tomllib
from pathlib import Path
from typing import Any

import pytest

from riskmodel import dictionary
from riskmodel.dictionary.files import SHIPPED
from riskmodel.dictionary.model import LONG_TABLES, Kind, Moment

CVJ = dictionary.read("cvj")
REFERENCE = Path(__file__).parents[2] / "reference"

FIELDS_OF_ALL = ("label", "kind", "moment", "how")
FIELDS_OF_MEASURES = ("norms",)
FIELDS_OF_NUMBERS = ("hard", "soft", "centre", "scale")
FIELDS_OF_FINE_NUMBERS = ("unit", "resolution", "states")


def _as_written() -> dict[str, dict[str, Any]]:
    """Every `[variable.NAME]` table of the shipped files."""
    files = sorted((SHIPPED / "cvj").glob("*.toml"))
    return {
        name: held
        for file in files
        for name, held in tomllib.loads(file.read_text(encoding="utf-8")).get("variable", {}).items()
    }


def _expected() -> dict[str, dict[str, str]]:
    """Expected entries, each with the fields that it leaves out and the reason why."""
    lines = (REFERENCE / "expected_variables.txt").read_text(encoding="utf-8").splitlines()
    held: dict[str, dict[str, str]] = {}
    for line in lines:
        if line and not line.startswith("#"):
            name, _, rest = line.partition(" | ")
            reasons = (part.partition(": ") for part in rest.split("; ") if part)
            held[name] = {field: reason for field, _, reason in reasons}
    return held


WRITTEN, EXPECTED = _as_written(), _expected()
WITHDRAWN = [name.removeprefix("- ") for name in EXPECTED if name.startswith("- ")]
VARIABLES = [name for name in EXPECTED if " " not in name]


def test_the_dictionary_has_the_expected_entries_and_no_others() -> None:
    assert set(VARIABLES) == set(WRITTEN)
    assert {name.removeprefix("event ") for name in EXPECTED if name.startswith("event ")} == set(CVJ.events)
    assert {name.removeprefix("outcome ") for name in EXPECTED if name.startswith("outcome ")} == set(CVJ.outcomes)


def test_what_was_left_out_on_purpose_is_not_there() -> None:
    assert len(WITHDRAWN) == 10
    assert not set(WITHDRAWN) & set(CVJ.variables)


def _needed(held: dict[str, Any]) -> list[str]:
    if held.get("role", "predictor") not in ("predictor", "other"):
        return list(FIELDS_OF_ALL)
    needed = [*FIELDS_OF_ALL, *FIELDS_OF_MEASURES]
    if held["kind"] in ("number", "integer"):
        needed += FIELDS_OF_NUMBERS
    if held["kind"] == "number":
        needed += FIELDS_OF_FINE_NUMBERS
    return needed


@pytest.mark.parametrize("name", VARIABLES)
def test_every_variable_has_each_field_or_a_written_reason(name: str) -> None:
    lacking = {field for field in _needed(WRITTEN[name]) if WRITTEN[name].get(field) in (None, "", [])}
    assert lacking == set(EXPECTED[name])
    assert all(len(reason) > 10 for reason in EXPECTED[name].values())


def test_every_norm_says_where_it_is_from_and_how_sure_it_is() -> None:
    for name, held in CVJ.variables.items():
        for norm in held.norms:
            assert norm.source, name
            assert norm.confidence in ("H", "M", "L"), name


def test_a_source_is_published_or_says_that_it_is_not() -> None:
    starts = ("published: ", "common practice, no source", "from memory, not checked", "own proposal, no source")
    sources = {norm.source for held in CVJ.variables.values() for norm in held.norms}
    assert all(source and source.startswith(starts) for source in sources)


def _published() -> list[tuple[str, float, str]]:
    with (REFERENCE / "published_values.csv").open(newline="", encoding="utf-8") as stream:
        return [(row["variable"], float(row["value"]), row["source"]) for row in csv.DictReader(stream)]


@pytest.mark.parametrize(("name", "value", "source"), _published())
def test_no_published_value_is_refused(name: str, value: float, source: str) -> None:
    """Normal and pathological values from the literature (source beside each in published_values.csv)."""
    hard = CVJ.variables[name].hard
    assert hard is not None
    assert hard[0] <= value <= hard[1], source


def test_published_means_are_not_even_questioned() -> None:
    """A mean, of the healthy or of the operated, is nothing unusual for a child who comes to a planning conference."""
    with (REFERENCE / "published_values.csv").open(newline="", encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if "mean" in row["what"] and "SD" not in row["what"]]
    assert len(rows) > 25
    for row in rows:
        soft = CVJ.variables[row["variable"]].soft
        assert soft is not None
        assert soft[0] <= float(row["value"]) <= soft[1], row


# Hard ranges that were decided: outside them a value cannot be true of a child with a syndrome (own, no source).
DECIDED = {
    "age_years": (0, 25),
    "height_cm": (40, 210),
    "bdi_mm": (-35, 30),
    "clivo_axial_angle_deg": (50, 190),
    "cci_right_mm": (0, 25),
    "c1c2_gap_rest_left_mm": (-15, 15),
    "c1c2_gap_traction_left_mm": (-15, 15),
    "c1c2_gap_released_left_mm": (-15, 15),
    "n_segments": (1, 14),
    "mcrae_mm": (-20, 40),
    "chamberlain_mm": (-20, 40),
    "mcgregor_mm": (-20, 40),
}


@pytest.mark.parametrize(("name", "hard"), DECIDED.items())
def test_decided_hard_ranges_hold(name: str, hard: tuple[float, float]) -> None:
    assert CVJ.variables[name].hard == hard


def test_every_sided_variable_has_both_sides() -> None:
    for name, held in CVJ.variables.items():
        if held.side is not None and held.sides is not None:
            assert {held.sides.replace("{side}", side) for side in ("right", "left")} <= set(CVJ.variables)
            assert held.sides.replace("{side}", held.side) == name


def test_what_is_measured_after_the_operation_started_never_predicts_at_planning() -> None:
    late = (
        "support_worn_weeks blood_loss_ml op_minutes ionm_alert needed_release c1c2_gap_released_right_mm union_status "
        "breach_grade purchase_intraop o_c2_angle_after_deg bmp_dose_mg graft_fixation"
    )
    assert all(CVJ.variables[name].moment.later_than(Moment.PLAN) for name in late.split())


def test_the_kinds_of_events_in_the_long_table_are_the_events() -> None:
    assert CVJ.variables["event_kind"].codes == tuple(CVJ.events)


def test_long_tables_hold_no_predictor_of_a_child() -> None:
    held = [each for each in CVJ.variables.values() if each.table in LONG_TABLES]
    assert {each.role.value for each in held} == {"other"}
    assert {each.table for each in held} == set(LONG_TABLES)


def test_numbers_of_a_bone_can_be_not_measurable_or_not_there() -> None:
    for name, held in CVJ.variables.items():
        if held.table == "sides" and held.kind is Kind.NUMBER:
            assert {"not_measurable", "not_applicable"} <= set(held.states), name
