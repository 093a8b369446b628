"""`riskmodel sheet`: both sheets of one child from the command line, and what is refused."""

import json
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.bundle import Use
from riskmodel.cli import commands
from riskmodel.cli.status import Status, run
from tests.riskmodel.documents.builders import bundle

CASE = """format = 1
case_id = "TW-204"
[values]
age_years = 4.0
weight_kg = 16
condition = "{condition}"
reduces = "under_traction"
upper_level = "C1"
prior_cvj_surgery = 0
"""


PLANS = """format = 1
[decided]
levels = "stop at C2"
[[plan]]
name = "A"
title = "Screws and rods"
upper = "C1"
lower = "C2"
rods = 2
connector = false
[[plan.anchor]]
level = "C2"
side = "right"
kind = "pedicle_screw"
diameter_mm = 3.5
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    held = bundle(use=Use.LOCAL)
    settings = held.gates.__class__(
        held.gates.moment, held.gates.known_later, ("weight_kg",), held.gates.only, held.gates.like_cases_at_least
    )
    bundles.write(bundle(use=Use.LOCAL, gates=settings), tmp_path / "small.riskmodel.json")
    (tmp_path / "case.toml").write_text(CASE.format(condition="down"))
    (tmp_path / "rare.toml").write_text(CASE.format(condition="sedc"))
    (tmp_path / "wrong.toml").write_text(CASE.format(condition="dwon"))
    return tmp_path


def sheet(folder: Path, out: str, *arguments: str, case: str = "case.toml") -> int:
    model = str(folder / "small.riskmodel.json")
    told = ["sheet", str(folder / case), "--bundle", model, "--on", "2026-12-01", "--out", str(folder / out)]
    return run(commands, "riskmodel", [*told, *arguments])


@pytest.mark.parametrize("reader", ["surgeon", "family"])
@pytest.mark.parametrize("ending", ["pdf", "html", "md", "json"])
def test_both_sheets_in_every_kind_of_file(folder: Path, reader: str, ending: str) -> None:
    assert sheet(folder, f"sheet.{ending}", "--for", reader) == Status.DONE
    held = (folder / f"sheet.{ending}").read_bytes()
    assert held.startswith({"pdf": b"%PDF", "html": b"<!doctype html>", "md": b"# ", "json": b"{"}[ending])


def test_a_number_that_is_withheld_is_no_failure(folder: Path) -> None:
    assert sheet(folder, "sheet.md", "--for", "family", case="rare.toml") == Status.DONE
    assert "There are too few children like yours in our records." in (folder / "sheet.md").read_text()


def test_ticks_reach_the_sheet_and_initials_end_the_draft(folder: Path) -> None:
    ticks = ("--tick", "brace", "--tick", "jumping", "--tick", "young_person", "--signed", "AB")
    assert sheet(folder, "sheet.md", "--for", "family", *ticks) == Status.DONE
    told = (folder / "sheet.md").read_text()
    for words in ("A brace, and we watch.", "No jumping", "it is your neck", "Talked through by AB"):
        assert words in told
    assert "Draft" not in told
    assert "Wait, and scan again" not in told


def test_another_language(folder: Path) -> None:
    assert sheet(folder, "sheet.md", "--for", "family", "--language", "es") == Status.DONE
    assert "Llámenos el mismo día" in (folder / "sheet.md").read_text()


def test_the_surgeons_page_knows_weight_and_blood_volume(folder: Path) -> None:
    assert sheet(folder, "page.json", "--for", "surgeon", "--signed", "CD") == Status.DONE
    held = json.loads((folder / "page.json").read_text())
    # 75 ml/kg after infancy: common practice, no source.
    assert ["blood volume", "1200 ml (10% 120, 20% 240, 40% 480 ml)"] in held["conference"]["top"]
    assert held["marks"] == []


def test_a_family_gets_no_number_for_a_plan_that_contradicts_itself(folder: Path) -> None:
    torn = PLANS.replace("rods = 2\nconnector = false", "rods = 1\nconnector = true")
    for name, plans, number in (("holds", PLANS, True), ("torn", torn, False), ("other", _from_occiput(torn), True)):
        (folder / f"{name}.toml").write_text(plans)
        told = ("--for", "family", "--plans", str(folder / f"{name}.toml"))
        assert sheet(folder, f"{name}.md", *told) == Status.DONE
        words = (folder / f"{name}.md").read_text()
        assert ("Our best guess is" in words) is number, name
        assert ("We still work on the plan for the operation." in words) is not number, name


def _from_occiput(plans: str) -> str:
    """A plan of other levels than the case's says nothing of the case's number."""
    return plans.replace('upper = "C1"', 'upper = "O"')


def test_a_refused_case_writes_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert sheet(folder, "sheet.pdf", "--for", "family", case="wrong.toml") == Status.REFUSED
    assert not (folder / "sheet.pdf").exists()
    told = capsys.readouterr().err
    assert "condition" in told
    assert "Traceback" not in told


@pytest.mark.parametrize(
    ("out", "arguments", "words"),
    [
        ("sheet.docx", ("--for", "family"), "--out must end in one of .pdf, .html, .md, .json"),
        ("sheet.pdf", ("--for", "surgeon", "--tick", "brace"), "are for the family's sheet"),
        ("sheet.pdf", ("--for", "family", "--stock", "x.toml"), "--stock and --limits go with --plans"),
        ("sheet.pdf", ("--for", "family", "--language", "xx"), "'xx' is not one of 'en', 'es'"),
        ("sheet.pdf", ("--for", "nobody"), "'nobody' is not one of 'surgeon', 'family'"),
    ],
)
def test_wrong_use_is_named(
    folder: Path, out: str, arguments: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert sheet(folder, out, *arguments) == Status.WRONG_USE
    assert words in capsys.readouterr().err
    assert not (folder / out).exists()


def test_plans_reach_the_surgeons_page(folder: Path) -> None:
    (folder / "plans.toml").write_text(PLANS)
    assert sheet(folder, "page.md", "--for", "surgeon", "--plans", str(folder / "plans.toml")) == Status.DONE
    told = (folder / "page.md").read_text()
    for words in ("## Plan A: Screws and rods", "decided: stop at C2", "## Stop rules", "C2 right pedicle"):
        assert words in told


def test_a_plans_file_that_is_none_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "plans.toml").write_text("format = 1\n")
    assert sheet(folder, "page.md", "--for", "surgeon", "--plans", str(folder / "plans.toml")) == Status.REFUSED
    assert "at least one [[plan]]" in capsys.readouterr().err
    assert not (folder / "page.md").exists()
