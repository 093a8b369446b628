"""`validate` as a person calls it."""

import json
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli import commands as runtime
from riskmodel.cli.status import run
from tests import demonstration
from tests.training.updating import worlds
from training.cli import commands

FILES = [
    "riskmodel.json",
    "check.json",
    "check.md",
    "check.html",
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
    path = tmp_path_factory.mktemp("model") / "revision_24m.riskmodel.json"
    bundles.write(demonstration.bundle(worlds.REVISION), path)
    return path


@pytest.fixture(scope="module")
def cohort(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return worlds.invent(tmp_path_factory.mktemp("cohort"))


def validate(model: Path, cohort: Path, out: Path) -> int:
    options = ("--on", "2026-12-01", "--use", "local", "--place", "Other Town")
    return train("validate", model, cohort, "--out", out, *options)


@pytest.fixture(scope="module")
def checked(model: Path, cohort: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("checked") / "out"
    assert validate(model, cohort, out) == 0
    return out


def test_a_check_is_written_and_noted(model: Path, checked: Path) -> None:
    assert sorted(path.name for path in checked.iterdir()) == sorted(f"revision_24m.{name}" for name in FILES)
    numbers = json.loads((checked / "revision_24m.check.json").read_text(encoding="utf-8"))
    after = bundles.read(checked / "revision_24m.riskmodel.json")
    assert numbers["bundle"] == {"id": "revision_24m", "digest": after.digest}
    assert numbers["checked"]["digest"] == after.parents[-1] == bundles.read(model).digest
    assert numbers["demonstration"] is True
    page = (checked / "revision_24m.check.html").read_text(encoding="utf-8")
    assert "What these children can tell" in page
    assert "too few to say" in page


def test_inspect_and_the_gates_know_of_the_check(checked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bundle = checked / "revision_24m.riskmodel.json"
    assert run(runtime, "riskmodel", ["inspect", str(bundle)]) == 0
    told = capsys.readouterr().out
    assert "local use after local check" in told
    assert "last checked on other patients on 2026-12-01 (Other Town)" in told
    case = demonstration.CASES / "TW-204.toml"
    assert run(runtime, "riskmodel", ["score", str(bundle), str(case), "--json", "--on", "2026-12-02"]) == 0
    gates = {gate["name"]: gate for gate in json.loads(capsys.readouterr().out)["results"][0]["gates"]}
    assert gates["local_check"]["passed"]
    assert gates["use"]["passed"]


def test_the_same_call_gives_the_same_bytes_and_tells_what_matters(
    model: Path, cohort: Path, checked: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert validate(model, cohort, tmp_path / "again") == 0
    told = capsys.readouterr().out
    assert "18 events and 147 known non-events" in told
    assert "does not replace the judgement of the treating team" in told
    for path in checked.iterdir():
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes(), path.name


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda text: text.replace("revision", "reversion", 1), "revision"),
        (lambda text: text.split("\n", 1)[0] + "\n", "a header and no row under it"),
    ],
    ids=["no outcome column", "no child"],
)
def test_a_cohort_that_cannot_be_used_leaves_nothing(
    model: Path, cohort: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], change: object, told: str
) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text(change(cohort.read_text(encoding="utf-8")), encoding="utf-8")  # type: ignore[operator]
    assert train("validate", model, bad, "--out", tmp_path / "out") == 1
    err = capsys.readouterr().err
    assert told in err
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()


def test_a_folder_that_is_there_is_refused_before_anything_is_read(
    model: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert train("validate", model, tmp_path / "absent.csv", "--out", tmp_path) == 1
    assert "is there already" in capsys.readouterr().err
