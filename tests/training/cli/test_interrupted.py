"""Ctrl-C while a fit is running: status 3, one line, and nothing half-written."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskmodel.cli.status import Status, run
from tests.reference import KYPHOSIS
from training.cli import NAME, commands

ROOT = Path(__file__).parents[3]


def arguments(out: Path, workers: int) -> list[str]:
    protocol = str(KYPHOSIS / "kyphosis.toml")
    return ["fit", str(KYPHOSIS / "kyphosis.csv"), "--protocol", protocol, "--out", str(out), "--workers", str(workers)]


@pytest.fixture
def heard() -> Iterator[None]:
    """What is started hears Ctrl-C, also where these tests run in the background of a shell, which ignores it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("heard")
@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_a_fit_that_is_interrupted_leaves_nothing(workers: int, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "training", *arguments(tmp_path / "out", workers), "--replays", "2000"]
    with subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    ) as started:
        assert started.stderr is not None
        seen = b""
        while not re.search(rb" [1-9]\d*/2000", seen):
            piece = os.read(started.stderr.fileno(), 4096)
            assert piece, seen
            seen += piece
        started.send_signal(signal.SIGINT)
        rest, status = started.stderr.read(), started.wait(timeout=120)
    told = (seen + rest).decode("utf-8", "replace")
    assert status == Status.NOT_FINISHED, told
    assert "interrupted" in told
    assert "Traceback" not in told
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("place", ["training.report.folder.examine", "training.report.folder.stamped"])
def test_an_interruption_while_the_report_is_made_leaves_what_was_there(
    place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    out = tmp_path / "out"
    out.mkdir()
    (out / "earlier.txt").write_text("kept", encoding="utf-8")
    monkeypatch.setattr(place, interrupted)
    status = run(commands, NAME, [*arguments(out, 1), "--replays", "20", "--replace"])
    assert status == Status.NOT_FINISHED
    assert "interrupted" in capsys.readouterr().err
    assert [path.name for path in out.iterdir()] == ["earlier.txt"]
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
