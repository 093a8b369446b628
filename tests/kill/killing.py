"""Kill a program that keeps answers, again and again, and look into the file each time."""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from riskmodel.web.kept import Store

LONGEST_SECONDS = 0.12


@dataclass(frozen=True, slots=True)
class Tally:
    """How many answers were begun, confirmed and found, and the kills after which something was wrong."""

    saved: int
    confirmed: int
    found: int
    faults: tuple[str, ...]


def kill(times: int, path: Path, rng: random.Random) -> Tally:
    """Kill the saving program so often at a random moment; the file must open, be whole and hold what was confirmed."""
    begun: set[str] = set()
    confirmed: set[str] = set()
    faults: list[str] = []
    for run in range(times):
        for line in _killed(path, run, rng):
            word, *names = line.split()
            (begun if word == "saving" else confirmed).update(names)
        faults += [f"kill {run + 1}: {fault}" for fault in _faults(path, begun, confirmed)]
    found = {child.kept.id for child in Store(path).all()}
    return Tally(len(begun), len(confirmed), len(found), tuple(faults))


def _killed(path: Path, run: int, rng: random.Random) -> list[str]:
    """Whole lines that the program wrote before it was killed."""
    command = [sys.executable, "-m", "tests.kill.saving", str(path), str(run)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        first = process.stdout.readline()  # it has begun to save
        time.sleep(rng.uniform(0.0, LONGEST_SECONDS))
        os.kill(process.pid, signal.SIGKILL)
        rest = process.stdout.read()
    return (first + rest[: rest.rfind("\n") + 1]).splitlines()


def _faults(path: Path, begun: set[str], confirmed: set[str]) -> list[str]:
    if not path.exists():
        return ["confirmed, and no file"] if confirmed else []
    found = {child.kept.id for child in Store(path).all()}
    with closing(sqlite3.connect(path)) as held:
        (whole,) = held.execute("PRAGMA integrity_check").fetchone()
    wrong = {
        f"the file is not whole: {whole}": whole != "ok",
        f"lost: {sorted(confirmed - found)}": not confirmed <= found,
        f"never begun: {sorted(found - begun)}": not found <= begun,
        "half a pair": any(name[:-1] + other not in found for name in found for other in "ab"),
    }
    return [words for words, holds in wrong.items() if holds]
