"""What a cohort may do to a fit with every candidate: refused in a line, or fitted with the reason beside the hole."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from riskmodel.cli.status import run
from tests.bad_input.test_main_job import changed, events, rows, text, written
from tests.reference import KYPHOSIS
from tests.training.cohort.children import SHORT, Columns, children, write
from training.cli import commands
from training.protocol.files import SHIPPED_PROTOCOLS

FLAT = '\nscale = "flat"'
ALL = '["rate", "penalised", "bias_reduced", "trees_without_interactions", "trees"]'


def kyphosis(folder: Path, *changes: tuple[str, str]) -> str:
    """A protocol of the open data with every candidate and these changes."""
    shutil.copy(KYPHOSIS / "kyphosis_dictionary.toml", folder)
    original = (KYPHOSIS / "kyphosis.toml").read_text(encoding="utf-8")
    return str(text(folder / "kyphosis.toml", replaced(original, ('["rate", "penalised"]', ALL), *changes)))


def replaced(original: str, *changes: tuple[str, str]) -> str:
    for before, after in changes:
        assert before in original
        original = original.replace(before, after, 1)
    return original


def fitted(folder: Path, cohort: Path, protocol: str) -> tuple[int, Path]:
    out = folder / "out"
    arguments = ["fit", str(cohort), "--protocol", protocol, "--out", str(out), "--replays", "20"]
    return run(commands, "python -m training", arguments), out


def numbers(out: Path) -> dict[str, Any]:
    (path,) = out.glob("*.validation.json")
    held: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return held


def test_trees_on_12_events_are_left_out_with_the_reason(tmp_path: Path) -> None:
    cohort = written(tmp_path / "cohort.csv", events(12))
    status, out = fitted(tmp_path, cohort, kyphosis(tmp_path))
    assert status == 0
    refused = {each["name"]: each["reason"] for each in numbers(out)["candidates"]["not_fitted"]}
    assert set(refused) == {"trees", "trees_without_interactions"}
    assert refused["trees"].endswith("found 12 and 64")
    page = next(out.glob("*.validation.html")).read_text(encoding="utf-8")
    assert "boosted trees need at least 20 known events" in page


def separated(held: list[dict[str, str]]) -> list[dict[str, str]]:
    return [{**row, "Kyphosis": "present" if float(row["Start"]) < 6 else "absent"} for row in held]


def test_separated_events_have_no_flat_fit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cohort = written(tmp_path / "cohort.csv", separated(rows()))
    status, out = fitted(tmp_path, cohort, kyphosis(tmp_path))
    told = capsys.readouterr().err
    assert (status, out.exists()) == (1, False)
    assert "the events are separated from the rest by the predictors" in told
    assert "Traceback" not in told


def test_with_priors_separated_events_are_fitted(tmp_path: Path) -> None:
    cohort = written(tmp_path / "cohort.csv", separated(rows()))
    status, out = fitted(tmp_path, cohort, kyphosis(tmp_path, (FLAT, '\nscale = "evidence"')))
    assert status == 0
    held = numbers(out)
    assert held["measures"]["c"]["apparent"] == 1.0
    compared = {each["name"] for each in held["candidates"]["compared"]}
    assert "bias_reduced" in compared


def test_a_candidate_that_gives_no_number_is_not_chosen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cohort = written(tmp_path / "cohort.csv", rows())
    status, out = fitted(tmp_path, cohort, kyphosis(tmp_path, ('choose = "penalised"', 'choose = "trees"')))
    told = capsys.readouterr().err
    assert (status, out.exists()) == (1, False)
    assert "accepted: rate, penalised or one_standard_error" in told


def by_centre(folder: Path) -> str:
    original = (SHIPPED_PROTOCOLS / f"{SHORT}.toml").read_text(encoding="utf-8")
    changes = (("visit_window_months = 2", "visit_window_months = 2\ncensoring_by_centre = true"),)
    return str(text(folder / "by_centre.toml", replaced(original, *changes)))


def with_centre(columns: Columns, *, keep: bool) -> Columns:
    """120 children, the last 12 in a third centre, all without the event; seen for long, or all lost early."""
    last = range(len(columns["case_id"]) - 12, len(columns["case_id"]))
    held = {name: list(values) for name, values in columns.items()}
    held["centre_id"] = [("TW", "CM")[place // 4 % 2] for place in range(len(held["case_id"]))]
    for place in last:
        held["centre_id"][place] = "EH"
        held["fixation_failure"][place], held["fixation_failure_months"][place] = "no", ""
        for name in ("last_scan_months", "last_contact_months"):
            held[name][place] = "30" if keep else "6"
    return held


@pytest.mark.parametrize("keep", [True, False])
def test_a_centre_without_events_or_all_censored_stops_nothing(
    keep: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cohort = write(with_centre(children(120), keep=keep), tmp_path / "children.csv")
    status, out = fitted(tmp_path, cohort, by_centre(tmp_path))
    told = capsys.readouterr().err
    assert status == 0
    assert ("censoring is estimated over all children together instead" in told) is not keep
    centres = numbers(out)["centres"]
    assert any("EH" in each["name"] for each in centres["left_out"])
    assert "are left out together" in centres["rule"]


PRIOR = '[[prior]]\nterm = "Start"\nmean = 0.0\nsd = 0.5\nper = "unit"\nsource = "nobody"\nconfidence = "H"\n'
PRIORS: dict[str, tuple[Callable[[str], str], str]] = {
    "a prior for an absent term": (lambda held: held.replace('"Start"', '"Strat"'), "Strat"),
    "an SD of 0": (lambda held: held.replace("sd = 0.5", "sd = 0"), "a number above 0"),
    "a mean that is a word": (lambda held: held.replace("mean = 0.0", 'mean = "low"'), "a number"),
    "an unknown key": (lambda held: held.replace("source", "sauce"), "sauce"),
    "a term twice": (lambda held: held + held, "Start twice"),
    "another outcome's": (lambda held: 'outcome = "revision"\n' + held, "priors of a plain outcome"),
    "not TOML": (lambda held: held + "[[", "TOML"),
}


@pytest.mark.parametrize("what", PRIORS)
def test_priors_that_cannot_be_used(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil, says = PRIORS[what]
    text(tmp_path / "own.toml", "format = 1\n" + spoil(PRIOR))
    asked = kyphosis(tmp_path, (FLAT, '\nscale = "evidence"\npriors = "own.toml"'))
    status, out = fitted(tmp_path, written(tmp_path / "cohort.csv", changed(rows())), asked)
    told = capsys.readouterr().err
    assert (status, out.exists()) == (1, False)
    assert says in told
    assert "Traceback" not in told


CONTRADICTIONS = {
    "an outcome that competes with itself": (
        ("visit_window_months = 2", 'visit_window_months = 2\ncompetes = ["non_union"]'),
        "no part of the outcome itself",
    ),
    "small centres by an unknown rule": (
        ("[report]", '[report]\nsmall_centres = "dropped"'),
        "merged",
    ),
    "an era without a year": (
        ('year = "operation_year"\n', ""),
        "year = a variable",
    ),
    "nothing to ship": (('["rate", "penalised"]', '["trees"]'), "rate or penalised among them"),
    "a flat scale beside priors": (('scale = "evidence"', 'scale = "flat"'), "flat beside priors"),
}


@pytest.mark.parametrize("what", CONTRADICTIONS)
def test_protocols_that_contradict_themselves(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    change, says = CONTRADICTIONS[what]
    original = (SHIPPED_PROTOCOLS / f"{SHORT}.toml").read_text(encoding="utf-8")
    era = ("[report]", "[report]\nera_from = 2017")
    asked = text(tmp_path / "p.toml", replaced(original, era, change))
    status, out = fitted(tmp_path, write(children(60), tmp_path / "children.csv"), str(asked))
    told = capsys.readouterr().err
    assert (status, out.exists()) == (1, False)
    assert says in told
    assert "Traceback" not in told
