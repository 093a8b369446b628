"""`share` and `pool` as the people of three centres call them, from the counts to the card."""

import csv
import json
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli.status import run
from tests import demonstration
from tests.training.sharing.centres import NAMES, PLAIN, SECRETS, centres, protocol
from tests.training.updating import worlds
from training.cli import commands
from training.cli.centres import pool_centres
from training.sharing import Round, Stage, add_up, files, step

FILES = [
    "riskmodel.json",
    "pooled.json",
    "pooled.md",
    "pooled.html",
    "card.json",
    "card.md",
    "card.html",
    "reporting.md",
    "reporting.html",
    "assessment.md",
    "assessment.html",
]
ASKED = ("--protocol", worlds.REVISION)


def train(*arguments: object) -> int:
    return run(commands, "python -m training", [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def cohorts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """One CSV file a centre."""
    folder = tmp_path_factory.mktemp("centres")
    with worlds.invent(folder, 5, 900).open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    held = {}
    for name in NAMES:
        held[name] = folder / f"{name}.csv"
        with held[name].open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(row for row in rows if row["centre_id"] == name)
    return held


@pytest.fixture(scope="module")
def secrets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("secrets")
    held = {}
    for name in NAMES:
        held[name] = folder / f"{name}.toml"
        lines = "\n".join(f'{other} = "{phrase}"' for other, phrase in SECRETS[name].items())
        held[name].write_text(f"format = 1\n[secret]\n{lines}\n", encoding="utf-8")
    return held


def asked_of_all(cohorts: dict[str, Path], folder: Path, out: Path, at: Path | None = None) -> Path:
    """Every centre answers, and the pool takes one step."""
    answers = {name: folder / f"{name}-{out.name}.json" for name in NAMES}
    option = () if at is None else ("--at", at)
    for name, answer in answers.items():
        assert train("share", cohorts[name], *ASKED, *option, "--out", answer) == 0
    asked = () if at is None else (at,)
    assert train("pool", *asked, *answers.values(), *ASKED, "--out", out) == 0
    return out


@pytest.fixture(scope="module")
def pooled(cohorts: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first two steps and the last as commands; the rounds between are the same functions, called here."""
    folder = tmp_path_factory.mktemp("plain")
    first = asked_of_all(cohorts, folder, folder / "first")
    asked = files.read(asked_of_all(cohorts, folder, folder / "second", first))
    assert isinstance(asked, Round)
    while asked.stage is Stage.FIT:
        asked = step(
            protocol(), asked, [add_up(held, protocol(), asked, PLAIN[name]) for name, held in centres().items()]
        )
    last = folder / "last"
    last.write_bytes(files.text(asked))
    return asked_of_all(cohorts, folder, folder / "model", last)


def test_three_centres_make_a_model(pooled: Path) -> None:
    assert sorted(path.name for path in pooled.iterdir()) == sorted(f"revision_24m.{name}" for name in FILES)
    held = bundles.read(pooled / "revision_24m.riskmodel.json")
    numbers = json.loads((pooled / "revision_24m.pooled.json").read_text(encoding="utf-8"))
    assert numbers["bundle"]["digest"] == held.digest
    assert [part["centre"] for part in numbers["centres"]] == ["CM", "HS", "TW"]
    page = (pooled / "revision_24m.pooled.html").read_text(encoding="utf-8")
    assert "Sums over few children can tell of a single child" in page
    assert "in a new centre" in page


def test_masked_sums_are_pooled_and_their_parts_are_not_seen(
    cohorts: dict[str, Path], secrets: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = {name: tmp_path / f"{name}.json" for name in NAMES}
    for name, answer in answers.items():
        assert train("share", cohorts[name], *ASKED, "--secrets", secrets[name], "--out", answer) == 0
        sums = json.loads(answer.read_text(encoding="utf-8"))["content"]["sums"]
        assert sums["outcome"]["values"] == []
        assert len(sums["outcome"]["masked"]) == 7
    assert train("pool", *answers.values(), *ASKED, "--out", tmp_path / "round") == 0
    totals = json.loads((tmp_path / "round").read_text(encoding="utf-8"))["content"]["totals"]
    assert totals["outcome"][0] == pytest.approx(706)
    capsys.readouterr()
    at = ("--at", tmp_path / "round")
    assert train("share", cohorts["TW"], *ASKED, *at, "--out", tmp_path / "bare.json") == 1
    assert "found secrets with nobody; accepted: secrets with CM, HS" in capsys.readouterr().err


def test_each_step_says_what_comes_next(
    cohorts: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = [tmp_path / f"{name}.json" for name in NAMES]
    for name, answer in zip(NAMES, answers, strict=True):
        assert train("share", cohorts[name], *ASKED, "--out", answer) == 0
    assert "Treat this file as personal data" in capsys.readouterr().out
    assert train("pool", *answers, *ASKED, "--out", tmp_path / "round") == 0
    told = capsys.readouterr().out
    assert "round 1 for CM, HS, TW: ask every centre" in told
    assert "python -m training share COHORT --protocol revision_24m --at round --out FILE" in told


def test_files_that_do_not_belong_are_findings_and_nothing_is_written(
    cohorts: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = [tmp_path / f"{name}.json" for name in NAMES]
    for name, answer in zip(NAMES, answers, strict=True):
        assert train("share", cohorts[name], *ASKED, "--out", answer) == 0
    answers[0].write_bytes(answers[0].read_bytes()[:2000])
    capsys.readouterr()
    assert train("pool", *answers, *ASKED, "--out", tmp_path / "round") == 1
    assert "TW.json: found a file that is cut short" in capsys.readouterr().err
    assert train("pool", *answers[1:], "--protocol", "fixation_failure_24m", "--out", tmp_path / "round") == 1
    err = capsys.readouterr().err
    assert err.count("counts under another protocol or dictionary") == 2
    assert not (tmp_path / "round").exists()


def test_a_centre_too_small_writes_nothing(
    cohorts: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with cohorts["TW"].open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    failed = [row for row in rows if row["revision"] == "yes"]
    spared = [row for row in rows if row["revision"] == "no"]
    small = tmp_path / "small.csv"
    with small.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows([*failed[:8], *spared[:20]])
    assert train("share", small, *ASKED, "--out", tmp_path / "out.json") == 1
    err = [line for line in capsys.readouterr().err.splitlines() if not line.startswith("warning")]
    assert len(err) == 1
    assert "so that no sum tells of a single one" in err[0]
    assert not (tmp_path / "out.json").exists()


def test_the_demonstration_pools_three_centres_and_says_why_the_fourth_sends_nothing(tmp_path: Path) -> None:
    told = "\n".join(pool_centres(demonstration.FOLDER / "children.csv", worlds.REVISION, tmp_path / "pooled"))
    assert "from the sums of 3 invented centres" in told
    assert "EH sends nothing: the outcome needs at least 5 known events" in told
    assert sorted(path.name for path in (tmp_path / "pooled").iterdir()) == sorted(f"revision_24m.{x}" for x in FILES)
    assert bundles.read(tmp_path / "pooled" / "revision_24m.riskmodel.json").demonstration
