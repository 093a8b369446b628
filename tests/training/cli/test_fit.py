"""`fit`, `card` and `score` as a person calls them, on open data and on the demonstration."""

import json
from pathlib import Path
from typing import Any

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli import commands as runtime
from riskmodel.cli.status import run
from tests import demonstration
from tests.reference import KYPHOSIS, reference
from training.cli import commands

FILES = [
    "riskmodel.json",
    "validation.json",
    "validation.html",
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


def score(*arguments: object) -> int:
    return run(runtime, "riskmodel", [str(argument) for argument in arguments])


def fit(out: Path, *options: object) -> int:
    protocol = KYPHOSIS / "kyphosis.toml"
    return train("fit", KYPHOSIS / "kyphosis.csv", "--protocol", protocol, "--out", out, "--replays", 20, *options)


@pytest.fixture(scope="module")
def kyphosis(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("fit") / "kyphosis"
    assert fit(out) == 0
    return out


def loaded(path: Path) -> dict[str, Any]:
    held: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return held


def test_kyphosis_through_the_public_commands_equals_glm(kyphosis: Path) -> None:
    """Source: stats::glm on the kyphosis data (a1); the bundle holds 9 significant digits."""
    held = loaded(kyphosis / "kyphosis.riskmodel.json")
    expected = reference("a1_kyphosis_glm")["coef"]
    assert [held["intercept"], *held["coefficients"]] == pytest.approx(list(expected.values()), abs=1e-6)
    assert [term["name"] for term in held["terms"]] == list(expected)[1:]


def test_scored_children_have_the_probabilities_of_glm(
    kyphosis: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Source: the fitted probabilities of stats::glm (a1), of the children within the model's range."""
    lines = (KYPHOSIS / "kyphosis.csv").read_text(encoding="utf-8").splitlines()
    cases = tmp_path / "new.csv"
    cases.write_text("\n".join(line.split(",", 1)[1] for line in lines), encoding="utf-8")
    assert score("score", kyphosis / "kyphosis.riskmodel.json", cases, "--json", "--on", "2026-12-01") == 0
    answers = json.loads(capsys.readouterr().out)["results"]
    expected = reference("a1_kyphosis_glm")["p"]
    shown = [(answer["probability"], p) for answer, p in zip(answers, expected, strict=True) if answer["shown"]]
    assert len(shown) > 60
    assert [found for found, _ in shown] == pytest.approx([p for _, p in shown], abs=1e-6)


def test_the_registrys_own_rows_get_no_number(kyphosis: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bundle = kyphosis / "kyphosis.riskmodel.json"
    assert score("score", bundle, KYPHOSIS / "kyphosis.csv", "--json", "--on", "2026-12-01") == 0
    answers = json.loads(capsys.readouterr().out)["results"]
    assert len(answers) == 81
    assert not any(answer["shown"] for answer in answers)
    assert "known only later: Kyphosis" in answers[0]["gates"][3]["says"]


def test_everything_is_written_and_agrees(kyphosis: Path) -> None:
    assert sorted(path.name for path in kyphosis.iterdir()) == sorted(f"kyphosis.{name}" for name in FILES)
    digest = bundles.read(kyphosis / "kyphosis.riskmodel.json").digest
    numbers = loaded(kyphosis / "kyphosis.validation.json")
    assert numbers["bundle"] == {"id": "kyphosis", "digest": digest}
    assert (numbers["n"], numbers["events"], numbers["replays"]["times"]) == (81, 17, 20)
    for entry in numbers["measures"].values():
        parts = [entry[part] for part in ("apparent", "harrell", "point632plus", "low", "high")]
        assert (None in parts) == (entry["reason"] is not None)
    assert len(numbers["instability"]["per_child"]) == 81
    assert digest[:12] in (kyphosis / "kyphosis.card.html").read_text(encoding="utf-8")


def test_the_same_call_gives_the_same_bytes(kyphosis: Path, tmp_path: Path) -> None:
    assert fit(tmp_path / "again", "--workers", 2) == 0
    for name in FILES:
        assert (tmp_path / "again" / f"kyphosis.{name}").read_bytes() == (kyphosis / f"kyphosis.{name}").read_bytes(), (
            name
        )


def test_an_earlier_result_is_replaced_on_request_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine", encoding="utf-8")
    assert fit(out) == 1
    assert "out is there already: choose another folder, or say --replace" in capsys.readouterr().err
    assert [path.name for path in out.iterdir()] == ["mine.txt"]
    assert fit(out, "--replace") == 0
    assert not (out / "mine.txt").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_write_that_fails_leaves_nothing_and_keeps_what_stood(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "demo"
    out.mkdir()
    (out / "before.txt").write_text("before", encoding="utf-8")

    def full(*_: object, **__: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    assert fit(out, "--replace") == 3
    assert "No space left" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["demo"]
    assert [path.name for path in out.iterdir()] == ["before.txt"]


@pytest.mark.parametrize("kind", ["html", "md", "json", "pdf"])
def test_the_card_is_written_in_the_kind_of_its_ending(kyphosis: Path, tmp_path: Path, kind: str) -> None:
    out = tmp_path / f"card.{kind}"
    assert train("card", kyphosis / "kyphosis.riskmodel.json", "--out", out) == 0
    starts = {"html": b"<!doctype html>", "md": b"# ", "json": b"{", "pdf": b"%PDF-"}
    assert out.read_bytes().lower().startswith(starts[kind].lower())


def test_another_kind_of_card_is_wrong_use(kyphosis: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert train("card", kyphosis / "kyphosis.riskmodel.json", "--out", tmp_path / "card.docx") == 2
    assert "--out must end in .html, .md, .json or .pdf" in capsys.readouterr().err


def test_score_tells_a_child_in_plain_text(kyphosis: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = tmp_path / "child.toml"
    case.write_text('format = 1\ncase_id = "K-1"\n[values]\nAge = 60\nNumber = 4\nStart = 10\n', encoding="utf-8")
    out = tmp_path / "told.txt"
    assert score("score", kyphosis / "kyphosis.riskmodel.json", case, "--on", "2026-12-01", "--out", out) == 0
    told = out.read_text(encoding="utf-8")
    assert "K-1: between " in told
    assert "does not replace the judgement of the treating team" in told
    assert capsys.readouterr().out == ""


def test_a_changed_bundle_gives_one_line_and_status_1(
    kyphosis: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    changed = tmp_path / "changed.riskmodel.json"
    text = (kyphosis / "kyphosis.riskmodel.json").read_text(encoding="utf-8")
    changed.write_text(text.replace('"signal": true', '"signal": false'), encoding="utf-8")
    assert score("score", changed, KYPHOSIS / "kyphosis.csv") == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("riskmodel: changed.riskmodel.json was changed after it was written")
    assert len(told.err.splitlines()) == 1


def test_the_demonstration_children_are_told_as_their_cases_say(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    bundle = tmp_path / "revision_24m.riskmodel.json"
    bundles.write(demonstration.bundle(), bundle)
    answers = {}
    for path in sorted(demonstration.CASES.glob("*.toml")):
        assert score("score", bundle, path, "--json", "--on", "2026-12-01") == 0
        document = json.loads(capsys.readouterr().out)
        assert document["bundle"]["demonstration"] is True
        answers[path.stem] = document["results"][0]
    assert answers["TW-204"]["shown"]
    assert not answers["TW-204"]["missing"]
    assert len(answers["CM-031"]["missing"]) >= 2
    assert not answers["HS-009"]["shown"]
