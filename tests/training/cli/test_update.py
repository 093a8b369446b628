"""`update` as a person calls it, and what `inspect` says afterwards."""

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli import commands as runtime
from riskmodel.cli.status import run
from tests.reference import KYPHOSIS
from tests.training.updating import worlds
from training.cli import commands

FILES = [
    "riskmodel.json",
    "update.json",
    "update.md",
    "update.html",
    "card.json",
    "card.md",
    "card.html",
    "reporting.md",
    "reporting.html",
    "assessment.md",
    "assessment.html",
]


def train(*arguments: object) -> int:
    return run(commands, "python -m training", [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration model, far too low on average."""
    path = tmp_path_factory.mktemp("model") / "revision_24m.riskmodel.json"
    held = worlds.model()
    draws = held.draws.copy()
    draws[:, 0] -= 1.5
    bundles.write(replace(held, intercept=held.intercept - 1.5, draws=draws, digest=""), path)
    return path


@pytest.fixture(scope="module")
def cohort(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return worlds.invent(tmp_path_factory.mktemp("cohort"))


def test_an_update_is_written_told_and_inspected(
    model: Path, cohort: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert train("update", model, cohort, "--out", out, "--on", "2026-12-01") == 0
    told = capsys.readouterr().out
    assert "step: intercept" in told
    assert "intervals: each of the parent's draws is brought to the level of these children" in told
    assert "for study until it has been checked" in told
    assert "does not replace the judgement of the treating team" in told
    assert sorted(path.name for path in out.iterdir()) == sorted(f"revision_24m.{name}" for name in FILES)
    numbers = json.loads((out / "revision_24m.update.json").read_text(encoding="utf-8"))
    after = bundles.read(out / "revision_24m.riskmodel.json")
    assert numbers["bundle"]["digest"] == after.digest
    assert numbers["parent"]["digest"] == after.parents[-1] == bundles.read(model).digest
    assert [test["against"] for test in numbers["tests"]] == ["intercept and slope"] * 2
    page = (out / "revision_24m.update.html").read_text(encoding="utf-8")
    assert "<dt>what is whose</dt><dd>rate and performance are of these children" in page
    assert numbers["what_is_whose"] == after.updates[-1].facts
    assert run(runtime, "riskmodel", ["inspect", str(out / "revision_24m.riskmodel.json")]) == 0
    lines = capsys.readouterr().out
    assert f"made from {after.parents[-1]}" in lines
    assert "updated on 2026-12-01 by closed test: intercept; at least 215 children, at least 15 events" in lines
    assert "intercept: \N{MINUS SIGN}4.3" in lines
    assert "intervals: each of the parent's draws" in lines


def test_beliefs_and_the_same_bytes_again(model: Path, cohort: Path, tmp_path: Path) -> None:
    for name in ("a", "b"):
        options = ("--on", "2026-12-01", "--method", "prior", "--discount", "3")
        assert train("update", model, cohort, "--out", tmp_path / name, *options) == 0
    for name in FILES:
        first, second = (tmp_path / which / f"revision_24m.{name}" for which in ("a", "b"))
        assert first.read_bytes() == second.read_bytes(), name
    note = bundles.read(tmp_path / "a" / "revision_24m.riskmodel.json").updates[-1]
    assert note.chosen == "the parent's beliefs as the prior, discounted by 3"
    assert "multiplied by 3" in note.interval


def test_one_kind_of_outcome_is_one_line_and_leaves_nothing(
    model: Path, cohort: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = cohort.read_text(encoding="utf-8").splitlines()
    place = lines[0].split(",").index("revision")
    spared = [line for line in lines if line.split(",")[place] != "yes"]
    path = tmp_path / "spared.csv"
    path.write_text("\n".join(spared), encoding="utf-8")
    assert train("update", model, path, "--out", tmp_path / "out") == 1
    told = capsys.readouterr()
    errors = [line for line in told.err.splitlines() if not line.startswith("warning")]
    assert len(errors) == 1
    assert "at least 5 known events and 5 known non-events at 24 months; found 0 and" in errors[0]
    assert not (tmp_path / "out").exists()


def test_a_discount_below_one_is_wrong_use(model: Path, cohort: Path, tmp_path: Path) -> None:
    assert train("update", model, cohort, "--out", tmp_path / "out", "--discount", "0.5") == 2


@pytest.mark.parametrize("command", ["validate", "update"])
def test_another_dictionary_is_a_finding_and_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    bundle = tmp_path / "kyphosis.riskmodel.json"
    bundles.write(replace(worlds.halves()[0], digest=""), bundle)
    data, out = KYPHOSIS / "kyphosis.csv", tmp_path / "out"
    assert train(command, bundle, data, "--out", out) == 1
    assert "by --dictionary FILE or beside the model" in capsys.readouterr().err
    words = (KYPHOSIS / "kyphosis_dictionary.toml").read_text(encoding="utf-8")
    other = tmp_path / "other.toml"
    other.write_text(words.replace('unit = "months"', 'unit = "years"'), encoding="utf-8")
    assert train(command, bundle, data, "--out", out, "--dictionary", other) == 1
    told = capsys.readouterr().err.strip().splitlines()
    assert len(told) == 1
    assert "found Age with another unit; accepted: as in the dictionary of the model" in told[0]
    assert not out.exists()


def test_a_dictionary_beside_the_model_is_found(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bundle = tmp_path / "kyphosis.riskmodel.json"
    bundles.write(replace(worlds.halves()[0], digest=""), bundle)
    shutil.copy(KYPHOSIS / "kyphosis_dictionary.toml", tmp_path)
    assert train("update", bundle, KYPHOSIS / "kyphosis.csv", "--out", tmp_path / "out", "--on", "2026-12-01") == 0
    assert "likelihood ratio" in capsys.readouterr().out
