"""The real commands in processes of their own, each under its own conditions."""

import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.architecture.project import ROOT
from tests.packaging import GOLDEN
from tests.reference import KYPHOSIS

SCORE = "from riskmodel.cli import main; main()"
CASES = "Age,Number,Start\n71,3,5\n158,3,14\n"
Done = subprocess.CompletedProcess[str]


def environment(**changes: str | None) -> dict[str, str]:
    """This process's environment with these changes; None takes a variable away."""
    held = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", **changes}
    return {name: value for name, value in held.items() if value is not None}


def riskmodel(*arguments: str) -> list[str]:
    """The command `riskmodel`."""
    return [sys.executable, "-c", SCORE, *arguments]


def score(folder: Path, *more: str) -> list[str]:
    """Score two cases, written into the folder, with the small golden model."""
    cases = folder / "cases.csv"
    cases.write_text(CASES, encoding="utf-8")
    return riskmodel("score", str(GOLDEN), str(cases), "--json", "--on", "2026-12-01", *more)


def fit(out: Path, *more: str) -> list[str]:
    """Fit the open data with few replays."""
    cohort, protocol = str(KYPHOSIS / "kyphosis.csv"), str(KYPHOSIS / "kyphosis.toml")
    asked = ["fit", cohort, "--protocol", protocol, "--out", str(out), "--replays", "20"]
    return [sys.executable, "-m", "training", *asked, *more]


def run(
    command: list[str],
    *,
    at: Path = ROOT,
    before: Callable[[], None] | None = None,
    variables: Mapping[str, str | None] | None = None,
) -> Done:
    """Run to the end; `before` runs in the new process, ahead of the command."""
    return subprocess.run(
        command,
        cwd=at,
        env=environment(**(variables or {})),
        preexec_fn=before,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )


def one_line(done: Done) -> str:
    """What a refusal says; fails on a traceback or a silent end."""
    assert "Traceback" not in done.stderr
    lines = [line for line in done.stderr.splitlines() if line.strip() and "replays of" not in line]
    assert lines, done
    return lines[-1]
