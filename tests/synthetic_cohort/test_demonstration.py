import csv
import hashlib
import tomllib
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from riskmodel import dictionary
from riskmodel.cases.casefile import check_mapping, read_case_file
from riskmodel.errors import Severity
from synthetic_cohort import codes
from synthetic_cohort.__main__ import main

FOLDER = Path(__file__).parents[2] / "synthetic_cohort"
SHIPPED = FOLDER / "demonstration"
CHILDREN = ("TW-204", "CM-031", "HS-009", "EH-112")
CVJ = dictionary.read("cvj")

ANCHORS = {
    "O": {"midline_screw", "condyle_screw"},
    "C1": {"lateral_mass_screw", "arch_screw", "hook", "wire"},
    "C2": {"pedicle_screw", "pars_screw", "lamina_screw", "transarticular_screw"},
    "C3": {"lateral_mass_screw", "pedicle_screw"},
}


def plans(name: str) -> list[dict[str, Any]]:
    held = tomllib.loads((SHIPPED / "plans" / f"{name}.toml").read_text(encoding="utf-8"))
    assert held["format"] == 1
    return list(held["plan"])


def test_the_shipped_cohort_is_made_again_byte_for_byte(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    assert (tmp_path / "children.csv").read_bytes() == (SHIPPED / "children.csv").read_bytes()


def test_the_readme_names_the_digest_of_the_shipped_cohort() -> None:
    digest = hashlib.sha256((SHIPPED / "children.csv").read_bytes()).hexdigest()
    assert digest in (FOLDER / "README.md").read_text(encoding="utf-8")


def test_the_truth_is_never_among_the_shipped_files() -> None:
    assert not list(SHIPPED.rglob("*truth*"))


def test_the_shipped_cohort_has_the_core_columns_and_no_other() -> None:
    with (SHIPPED / "children.csv").open(encoding="utf-8") as text:
        header = next(csv.reader(text))
    core = {name for name, variable in CVJ.variables.items() if variable.core} - {"operation_date"}
    outcomes = {name for name, outcome in CVJ.outcomes.items() if outcome.core}
    assert set(header) == core | {"operation_year"} | outcomes | {f"{name}_months" for name in outcomes}


@pytest.mark.parametrize("name", CHILDREN)
def test_a_new_child_is_not_in_the_cohort_and_is_read_without_a_finding(name: str) -> None:
    held = read_case_file(SHIPPED / "cases" / f"{name}.toml")
    assert held.case_id == name
    _, findings = check_mapping(held.values, CVJ, case_id=held.case_id)
    wrong = [str(finding) for finding in findings if finding.severity is Severity.ERROR]
    assert not wrong
    with (SHIPPED / "children.csv").open(encoding="utf-8") as text:
        assert name not in {row["case_id"] for row in csv.DictReader(text)}


@pytest.mark.parametrize("path", sorted(SHIPPED.rglob("*.toml")), ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_file_says_that_no_real_child_is_in_it(path: Path) -> None:
    assert "no real child" in path.read_text(encoding="utf-8").splitlines()[0]


@pytest.mark.parametrize("name", CHILDREN)
def test_plans_run_downwards_and_anchor_within_their_levels(name: str) -> None:
    for plan in plans(name):
        upper, lower = (codes.LEVELS.index(plan[end]) for end in ("upper", "lower"))
        assert upper < lower
        assert set(plan["decompression"]) <= set(codes.DECOMPRESSION)
        assert plan["support"] in codes.SUPPORT
        for anchor in plan["anchor"]:
            assert upper <= codes.LEVELS.index(anchor["level"]) <= lower
            assert anchor["kind"] in ANCHORS.get(anchor["level"], {"lateral_mass_screw", "pedicle_screw"})


@pytest.mark.parametrize("name", CHILDREN)
def test_the_first_plan_is_the_one_in_the_case(name: str) -> None:
    values, first = read_case_file(SHIPPED / "cases" / f"{name}.toml").values, plans(name)[0]
    assert (values["upper_level"], values["lower_level"]) == (first["upper"], first["lower"])
    assert values["planned_support"] == first["support"]
    assert values["planned_decompression"] == ("+".join(first["decompression"]) or "none")


def test_the_gaps_of_the_case_with_gaps() -> None:
    values = read_case_file(SHIPPED / "cases" / "CM-031.toml").values
    absent = {"atlas_ring", "weaker_end_anchors", "bone_density_z", "c1c2_gap_traction_right_mm"}
    assert not absent & set(values)
    assert values["reduces"] == "not_tested"
    assert values["adi_mm"] == "not_measurable"
    assert values["artery_right"] == values["artery_left"] == "not_imaged"


def test_corridors_of_the_third_vertebra_stand_beside_the_case_that_needs_them() -> None:
    with (SHIPPED / "cases" / "EH-112.corridors.csv").open(encoding="utf-8") as text:
        rows = list(csv.DictReader(text))
    assert all(CVJ.variables[name].table == "corridors" for name in rows[0] if name != "case_id")
    assert {(row["corridor_level"], row["corridor_side"]): float(row["corridor_mm"]) for row in rows} == {
        ("C3", "right"): 6.4,
        ("C3", "left"): 6.1,
    }
    assert all(row["corridor_site"] in CVJ.variables["corridor_site"].codes for row in rows)
