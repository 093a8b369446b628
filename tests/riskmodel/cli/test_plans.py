"""`riskmodel plans`: what it says, what it says of faults, and that the rest stands."""

import json
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli import commands
from riskmodel.cli.status import Status, run
from tests import demonstration

CASES, PLANS = demonstration.CASES, demonstration.FOLDER / "plans"
CHILDREN = ("TW-204", "CM-031", "HS-009", "EH-112")
ON = ("--on", "2026-12-01")


def call(*arguments: str | Path) -> int:
    return run(commands, "riskmodel", ["plans", *map(str, arguments)])


def of_child(name: str, *more: str | Path) -> int:
    return call(CASES / f"{name}.toml", PLANS / f"{name}.toml", *ON, *more)


def plans_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "plans.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("model") / "revision_24m.riskmodel.json"
    bundles.write(demonstration.bundle(), path)
    return path


@pytest.mark.parametrize("name", CHILDREN)
def test_without_a_model_it_is_anatomy_alone(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert of_child(name) == Status.DONE
    told = capsys.readouterr()
    assert told.err == ""
    parts = (
        "1. What is unstable",
        "7. What if it fails",
        "Sites",
        "Rescue",
        "Kit",
        "Stop rules",
        "Watch list",
        "Cautions",
    )
    places = [told.out.index(f"\n{part}") for part in parts]
    assert places == sorted(places)
    assert "Past experience" not in told.out
    assert "(adapt to local practice)" in told.out
    assert "does not replace the judgement of the treating team" in told.out


@pytest.mark.parametrize("name", CHILDREN)
def test_as_json_it_is_one_document(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert of_child(name, "--json") == Status.DONE
    held = json.loads(capsys.readouterr().out)
    assert held["format"] == 1
    assert held["case_id"] == name
    assert held["cautions"]
    assert [step["step"] for step in held["steps"]] == [
        "instability",
        "reduction",
        "cord",
        "levels",
        "anchors",
        "healing",
        "rescue",
    ]
    words = {"fits with room", "fits", "fits barely", "does not fit", "not measured"}
    assert {site["fit"] for site in held["sites"]} <= words


def test_with_a_model_it_tells_differences_and_no_number_of_a_plan(
    model: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert of_child("TW-204", "--bundle", model) == Status.DONE
    told = capsys.readouterr().out
    assert told.startswith("Made from invented data")
    assert "A less B:" in told
    assert "B less C:" in told
    assert "plan A: between" not in told
    assert of_child("TW-204", "--bundle", model, "--numbers") == Status.DONE
    told = capsys.readouterr().out
    places = [told.index(f"plan {name}: between") for name in "ABC"]
    assert places == sorted(places)


def test_several_models_stand_one_after_the_other(model: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert of_child("TW-204", "--bundle", model, "--bundle", model) == Status.DONE
    assert capsys.readouterr().out.count("Past experience:") == 2


def test_a_refused_number_refuses_nothing_else(model: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert of_child("HS-009", "--bundle", model, "--numbers") == Status.DONE
    told = capsys.readouterr().out
    assert "plan A: no number is shown" in told
    for part in ("Rescue", "Kit", "Stop rules", "Watch list"):
        assert f"\n{part}" in told


def test_decided_lines_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (PLANS / "TW-204.toml").read_text(encoding="utf-8")
    path = plans_file(tmp_path, text.replace("format = 1", 'format = 1\n[decided]\nlevels = "A, talked over"', 1))
    assert call(CASES / "TW-204.toml", path, *ON) == Status.DONE
    assert "decided: A, talked over" in capsys.readouterr().out


def test_a_shelf_and_limits_of_ones_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stock, limits = tmp_path / "stock.toml", tmp_path / "limits.toml"
    stock.write_text(
        'format = 1\nname = "our shelf"\nspacer_heights_mm = [4, 9]\nhooks = true\nbands = true\n'
        "[[screw]]\ndiameter_mm = 3.5\nlengths_mm = [20, 24]\n"
    )
    limits.write_text('format = 1\n[limit.occipital_bone_left_mm]\nvalue = 8\nsource = "our own 12 children"\n')
    assert of_child("EH-112", "--stock", stock, "--limits", limits) == Status.DONE
    told = capsys.readouterr()
    assert "local limit occipital_bone_left_mm: 8 mm (our own 12 children)" in told.out
    assert "stock: our shelf" in told.out
    assert "structural graft" not in told.out
    assert "plan B, O midline screw: found 4.5 mm across; accepted: in stock: none" in told.err


BAD = """
format = 1
[[plan]]
name = "A"
upper = "C1"
lower = "C2"
rods = 1
connector = true
[[plan.anchor]]
level = "C1"
side = "left"
kind = "lateral_mass_screw"
diameter_mm = 3.5
length_mm = 60
[[plan.anchor]]
level = "O"
side = "midline"
kind = "midline_screw"
[[plan.anchor]]
level = "C2"
side = "left"
kind = "pedicle_screw"
diameter_mm = 3.5
[[plan]]
name = "B"
upper = "C3"
lower = "C1"
rods = 2
"""


def test_every_fault_is_named_and_the_rest_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = tmp_path / "X-001.toml"
    case.write_text(
        'format = 1\ncase_id = "X-001"\n[values]\nc2_pedicle_width_right_mm = -4\nc2_pedicle_width_left_mm = 4.5\n'
        'c2_pedicle_height_left_mm = 6\nc1_lateral_mass_absent = "left"\nc1_lm_width_left_mm = 8\n'
        'artery_left = "usual"\npedicle = 3\n'
    )
    assert call(case, plans_file(tmp_path, BAD), *ON) == Status.DONE
    told = capsys.readouterr()
    for line in (
        "column c2_pedicle_width_right_mm: found -4; accepted: a number from 0 to 20 mm",
        "column pedicle: found an unknown column",
        "c1_lm_width_left_mm: found 8 mm, with the mass absent or tiny on that side",
        "plan A, C1 left lateral mass screw: found 60 mm long; accepted: at most 40 mm in stock",
        "found O midline screw; accepted: a level from C1 to C2; this anchor is left out",
        "found C3 as the highest, C1 as the lowest; accepted: a highest level that lies above the lowest",
    ):
        assert line in told.err
        assert line in told.out
    for line in (
        "CONTRADICTS ITSELF: C1 left lateral mass screw: no bone there",
        "CONTRADICTS ITSELF: a connector with 1 rod; accepted: two rods, or no connector",
        "C2 left pedicle screw: fits with room",
        "parts of this plan were refused",
    ):
        assert line in told.out
    assert "Traceback" not in told.err


def test_findings_are_part_of_the_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call(CASES / "TW-204.toml", plans_file(tmp_path, BAD), *ON, "--json") == Status.DONE
    held = json.loads(capsys.readouterr().out)
    assert {"anchor_outside", "level_order"} <= {finding["rule"] for finding in held["findings"]}
    assert [view["plan"]["name"] for view in held["plans"]] == ["A"]
    assert held["plans"][0]["plan"]["complete"] is False


@pytest.mark.parametrize(
    ("which", "text", "says"),
    [
        ("case", "format = 1\n", "accepted: a table [values]"),
        ("case", "format = = 1\n", "accepted: a TOML file"),
        ("plans", "format = 1\n", "accepted: at least one [[plan]]"),
        ("plans", "", "accepted: format = 1"),
        ("stock", "format = 1\n", "accepted: at least one [[screw]]"),
        ("limits", "format = 1\n[limit.keel]\nvalue = 3\n", "keel_mm (the nearest known name)"),
    ],
)
def test_a_file_of_which_nothing_can_be_read_is_refused(
    which: str, text: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = plans_file(tmp_path, text)
    case, plans = CASES / "TW-204.toml", PLANS / "TW-204.toml"
    arguments = {
        "case": (path, plans),
        "plans": (case, path),
        "stock": (case, plans, "--stock", path),
        "limits": (case, plans, "--limits", path),
    }
    assert call(*arguments[which], *ON) == Status.REFUSED
    told = capsys.readouterr()
    assert told.out == ""
    assert says in told.err
    assert "Traceback" not in told.err


def test_a_missing_file_is_refused_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call(tmp_path / "none.toml", PLANS / "TW-204.toml", *ON) == Status.REFUSED
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_an_unknown_field_cannot_be_unlocked(capsys: pytest.CaptureFixture[str]) -> None:
    assert of_child("TW-204", "--unlock", "age_years") == Status.WRONG_USE
    assert "graft_kind" in capsys.readouterr().err


def test_unlocking_lets_plans_differ(model: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (PLANS / "TW-204.toml").read_text(encoding="utf-8").replace('support = "collar"', 'support = "halo"', 1)
    path = plans_file(tmp_path, text)
    assert call(CASES / "TW-204.toml", path, *ON, "--bundle", model) == Status.DONE
    assert "held the same: planned support" in capsys.readouterr().out
    assert call(CASES / "TW-204.toml", path, *ON, "--bundle", model, "--unlock", "planned_support") == Status.DONE
    assert "held the same" not in capsys.readouterr().out
