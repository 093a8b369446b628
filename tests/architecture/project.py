"""Where the project stands, and its files as git knows them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("riskmodel", "training", "synthetic_cohort")


def tracked_files() -> list[Path]:
    """Every file of the project that git keeps; skips the test outside a checkout."""
    if not (ROOT / ".git").exists():
        pytest.skip("needs a git checkout")
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def python(*arguments: str, at: Path = ROOT) -> str:
    """What this interpreter prints when run on its own; fails the test with its stderr when it fails."""
    environment = {**os.environ, "PYTHONPATH": str(at), "PYTHONWARNINGS": "error"}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=at, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout
