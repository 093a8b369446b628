"""What a newcomer gets wrong on the main job: one clear line or list, the right exit status, nothing half-written."""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from riskmodel.cli import commands as runtime
from riskmodel.cli.status import run
from tests.reference import KYPHOSIS
from training.cli import commands

Rows = list[dict[str, str]]


def rows() -> Rows:
    with (KYPHOSIS / "kyphosis.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def written(path: Path, held: Rows) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows()[0]))
        writer.writeheader()
        writer.writerows(held)
    return path


def text(path: Path, content: str) -> Path:
    path.write_text(content, encoding="utf-8")
    return path


def changed(held: Rows, **values: str) -> Rows:
    return [{**row, **values} for row in held]


def events(count: int) -> Rows:
    """The cohort with this many events."""
    present = [row for row in rows() if row["Kyphosis"] == "present"]
    return present[:count] + [row for row in rows() if row["Kyphosis"] == "absent"]


COHORTS: dict[str, tuple[Callable[[Path], Path], str]] = {
    "an empty file": (lambda path: text(path, ""), "empty"),
    "a header only": (lambda path: written(path, []), "a header and no row under it"),
    "one child": (lambda path: written(path, rows()[:1]), "at least 5 known events and 5 known non-events"),
    "no events": (lambda path: written(path, events(0)), "found 0 and 64 among 64 children"),
    "only events": (
        lambda path: written(path, changed(rows(), Kyphosis="present")),
        "found 81 and 0 among 81 children",
    ),
    "3 events": (lambda path: written(path, events(3)), "found 3 and 64 among 67 children"),
    "text for a number": (lambda path: written(path, changed(rows()[:1], Age="old") + rows()[1:]), "column Age"),
    "an absent column": (lambda path: text(path, "Age,Number,Kyphosis\n1,2,absent\n"), "Start"),
    "over 100,000 rows": (
        lambda path: text(path, "Kyphosis,Age,Number,Start\n" + "absent,1,3,5\n" * 100_001),
        "100,000",
    ),
}


@pytest.mark.parametrize("what", COHORTS)
def test_a_cohort_that_cannot_be_fitted(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make, says = COHORTS[what]
    cohort, out = make(tmp_path / "cohort.csv"), tmp_path / "out"
    arguments = [
        "fit",
        str(cohort),
        "--protocol",
        str(KYPHOSIS / "kyphosis.toml"),
        "--out",
        str(out),
        "--replays",
        "20",
    ]
    assert run(commands, "python -m training", arguments) == 1
    told = capsys.readouterr()
    assert says in told.err
    assert "Traceback" not in told.err
    assert len([line for line in told.err.splitlines() if "replays of" not in line]) <= 12
    assert told.out == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cohort.csv"]


def test_a_constant_column_is_said_and_passes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cohort = written(tmp_path / "cohort.csv", changed(rows(), Number="4"))
    protocol = text(
        tmp_path / "kyphosis.toml",
        (KYPHOSIS / "kyphosis.toml").read_text(encoding="utf-8").replace('scale = "flat"', 'scale = "evidence"'),
    )
    (tmp_path / "kyphosis_dictionary.toml").write_bytes((KYPHOSIS / "kyphosis_dictionary.toml").read_bytes())
    arguments = ["fit", str(cohort), "--protocol", str(protocol), "--out", str(tmp_path / "out"), "--replays", "20"]
    assert run(commands, "python -m training", arguments) == 0
    assert "Number" in capsys.readouterr().err


PROTOCOLS = {
    "a misspelt variable": ('variable = "Start"', 'variable = "Strat"', "Strat"),
    "an unknown key": ("seed = 1", "sede = 1", "seed"),
    "an unknown form": ('form = "linear"', 'form = "straight"', "straight"),
    "an unknown candidate": ('choose = "penalised"', 'choose = "best"', "best"),
    "no such dictionary": ("kyphosis_dictionary.toml", "absent.toml", "absent.toml"),
    "the outcome as predictor": ('variable = "Start"', 'variable = "Kyphosis"', "Kyphosis"),
}


@pytest.mark.parametrize("what", PROTOCOLS)
def test_a_protocol_that_asks_for_what_is_not_there(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before, after, says = PROTOCOLS[what]
    original = (KYPHOSIS / "kyphosis.toml").read_text(encoding="utf-8")
    assert before in original
    protocol = text(tmp_path / "kyphosis.toml", original.replace(before, after))
    (tmp_path / "kyphosis_dictionary.toml").write_bytes((KYPHOSIS / "kyphosis_dictionary.toml").read_bytes())
    cohort, out = str(KYPHOSIS / "kyphosis.csv"), tmp_path / "out"
    assert run(commands, "python -m training", ["fit", cohort, "--protocol", str(protocol), "--out", str(out)]) == 1
    told = capsys.readouterr().err
    assert says in told
    assert "Traceback" not in told
    assert not out.exists()


TIMED = {
    "a horizon past the follow-up": (
        "horizon_months = 24",
        "horizon_months = 240",
        "at least 10 children still followed",
    ),
    "a predictor known only after the operation": (
        'variable = "age_years"\nform = "log2"\nclip = [1.5, 18]',
        'variable = "last_scan_months"\nform = "linear"',
        "last_scan_months",
    ),
}


@pytest.mark.parametrize("what", TIMED)
def test_a_protocol_that_asks_for_what_cannot_be_known(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from tests.demonstration import FOLDER
    from training.protocol.files import SHIPPED_PROTOCOLS

    before, after, says = TIMED[what]
    original = (SHIPPED_PROTOCOLS / "revision_24m.toml").read_text(encoding="utf-8")
    assert before in original
    protocol, out = text(tmp_path / "p.toml", original.replace(before, after)), tmp_path / "out"
    arguments = ["fit", str(FOLDER / "children.csv"), "--protocol", str(protocol), "--out", str(out)]
    assert run(commands, "python -m training", arguments) == 1
    told = capsys.readouterr().err
    assert says in told
    assert "Traceback" not in told
    assert not out.exists()


def test_wrong_use_is_said_with_status_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(commands, "python -m training", ["fit", "cohort.csv"]) == 2
    assert run(runtime, "riskmodel", ["score"]) == 2
    assert "Traceback" not in capsys.readouterr().err
