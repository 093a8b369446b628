"""What the dictionary tells others: checked by an independent validator of the open standard."""

import csv
from pathlib import Path

import frictionless
import pytest

from riskmodel import cases, dictionary, tables
from riskmodel.dictionary.export import table_schema, template_columns
from riskmodel.dictionary.model import LONG_TABLES, Role
from riskmodel.errors import Severity

CVJ = dictionary.read("cvj")
DEMONSTRATION = Path(__file__).parents[3] / "synthetic_cohort" / "demonstration" / "children.csv"

# The 30 core columns: 22 at baseline, 8 of the course afterwards.
CORE = (
    "case_id centre_id operation_date age_years sex condition indication prior_cvj_surgery nurick_grade reduces adi_mm "
    "padi_mm atlas_ring artery_right artery_left upper_level lower_level construct_kind weaker_end_anchors graft_kind "
    "planned_decompression planned_support fixation_failure fixation_failure_date revision revision_date other_end "
    "other_end_date last_scan_date last_contact_date"
)

# One planted fault per column: what stands in the cell of data row n (1 for the first under the header).
PLANTED = {
    ("age_years", 1): "eight",
    ("age_years", 2): "31",
    ("sex", 3): "f",
    ("condition", 4): "Downs",
    ("nurick_grade", 5): "6",
    ("adi_mm", 6): "4,5",
    ("atlas_ring", 7): "open",
    ("upper_level", 8): "C0",
    ("planned_decompression", 9): "c1_arch+c9_lamina",
    ("weaker_end_anchors", 10): "2.5",
    ("last_scan_months", 11): "-1",
    ("revision", 12): "perhaps",
}


def test_a_template_asks_for_the_30_core_columns_with_dates_for_months() -> None:
    columns = template_columns(CVJ)
    assert sorted(columns) == sorted(CORE.split())
    assert len(columns) == 30


def test_a_dictionary_without_core_columns_gives_all_in_its_template(tmp_path: Path) -> None:
    path = tmp_path / "small.toml"
    path.write_text(
        'format = 1\nname = "n"\nversion = "1"\n[variable.a]\nlabel = "A"\nkind = "yes_no"\nmoment = "clinic"\n'
    )
    assert template_columns(dictionary.read(path)) == ("a",)


def test_the_schema_is_a_valid_table_schema() -> None:
    """Validator: frictionless (PyPI), standard: Table Schema of the Frictionless Data specifications."""
    schema = frictionless.Schema.from_descriptor(table_schema(CVJ))
    columns = [name for name, held in CVJ.variables.items() if held.table not in LONG_TABLES]
    timed = [name for name in columns if CVJ.variables[name].role in (Role.EVENT, Role.SEEN_UNTIL)]
    dates = [f"{name.removesuffix('_months')}_date" for name in timed if name.endswith("_months")]
    assert [field.name for field in schema.fields] == [*columns, *dates]
    assert schema.primary_key == ["case_id"]
    assert schema.get_field("adi_mm").constraints == {"minimum": -3, "maximum": 30}


def _rows() -> list[dict[str, str]]:
    with DEMONSTRATION.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))[:40]


def _written(rows: list[dict[str, str]], folder: Path) -> Path:
    path = folder / "children.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return path


def _faults_by_validator(path: Path) -> set[tuple[str, int]]:
    """Column and row (1 = header) of every cell that the independent validator objects to."""
    schema = frictionless.Schema.from_descriptor(table_schema(CVJ))
    resource = frictionless.Resource(path=path.name, basepath=str(path.parent), schema=schema)
    held = resource.validate().flatten(["rowNumber", "fieldName"])
    return {(column, row) for row, column in held}


def _faults_by_door(path: Path) -> set[tuple[str, int | None]]:
    (raw,) = tables.read(path)
    _, findings = cases.check(raw, CVJ)
    return {(held.column or "", held.row) for held in findings if held.severity is Severity.ERROR}


def test_the_validator_passes_the_demonstration_cohort(tmp_path: Path) -> None:
    path = _written(_rows(), tmp_path)
    assert _faults_by_validator(path) == _faults_by_door(path) == set()


def test_the_validator_and_the_door_find_the_same_planted_faults(tmp_path: Path) -> None:
    rows = _rows()
    for (column, row), text in PLANTED.items():
        rows[row - 1][column] = text
    path = _written(rows, tmp_path)
    planted = {(column, row + 1) for column, row in PLANTED}
    assert _faults_by_validator(path) == planted
    by_door = _faults_by_door(path)
    assert planted <= by_door
    # What the door finds beyond: cells that are sound alone and contradict each other (a time whose event is gone).
    assert {column.removesuffix("_months") for column, _ in by_door - planted} <= {"revision", "fixation_failure"}


@pytest.mark.parametrize("text", ["none", "c1_arch", "foramen_magnum+c1_arch", ""])
def test_flags_pass_the_schemas_pattern(text: str, tmp_path: Path) -> None:
    rows = _rows()[:1]
    rows[0]["planned_decompression"] = text
    assert _faults_by_validator(_written(rows, tmp_path)) == set()
