"""A fit that is killed leaves nothing under its final name; two fits into one folder leave one whole model."""

import signal
import subprocess
import time
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from tests.architecture.project import ROOT
from tests.faults.commands import environment, fit, run

pytestmark = pytest.mark.slow
LONGEST_SECONDS = 240


def started(out: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen(fit(out), cwd=ROOT, env=environment(), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)


def whole(folder: Path) -> None:
    """Everything that a fit writes is there, and the bundle is what its digest says."""
    (path,) = folder.glob("*.riskmodel.json")
    held = bundles.read(path)
    endings = {".riskmodel.json", ".validation.html", ".validation.json", ".card.json", ".card.md", ".card.html"}
    assert {f"{held.id}{ending}" for ending in endings} <= {each.name for each in folder.iterdir()}


@pytest.mark.parametrize("at", ["the first file", "the second file"])
def test_killed_in_mid_write(at: str, tmp_path: Path) -> None:
    out, ends = tmp_path / "model", time.monotonic() + LONGEST_SECONDS
    process = started(out)
    enough = 1 if at == "the first file" else 2
    while process.poll() is None and time.monotonic() < ends:
        written = [path for path in tmp_path.rglob("*") if path.is_file()]
        if len(written) >= enough:
            process.send_signal(signal.SIGKILL)
            break
        time.sleep(0.0005)
    process.communicate(timeout=LONGEST_SECONDS)
    if out.exists():  # the rename was faster than the kill
        whole(out)
    else:
        assert process.returncode == -signal.SIGKILL
    assert run(fit(out, "--replace")).returncode == 0
    whole(out)


def test_two_fits_into_one_folder(tmp_path: Path) -> None:
    out = tmp_path / "model"
    both = [started(out), started(out)]
    told = [process.communicate(timeout=LONGEST_SECONDS)[1].decode() for process in both]
    assert all("Traceback" not in each for each in told)
    statuses = sorted(process.returncode for process in both)
    assert statuses[0] == 0
    assert statuses[1] in (1, 3)  # refused, or the folder came while it was being renamed
    whole(out)
    assert [path.name for path in tmp_path.iterdir()] == ["model"]
