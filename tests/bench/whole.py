"""A whole fit with every candidate, its examination and its report."""

import tempfile
from dataclasses import replace
from pathlib import Path
from time import perf_counter

from tests.bench.replays import COHORT, WORKERS
from training import cohort as cohorts
from training import protocol as protocols
from training.fitting import fit
from training.protocol import CANDIDATES
from training.report import folder

GOAL_SECONDS = 60.0


def main() -> bool:
    """Time it and print; return whether it took no longer than the goal (on two quiet cores)."""
    asked = protocols.read("fixation_failure_24m")
    asked = replace(asked, fit=replace(asked.fit, candidates=CANDIDATES))
    begin = perf_counter()
    trained = fit(cohorts.read(COHORT, asked), asked, workers=WORKERS)
    fitted = perf_counter() - begin
    with tempfile.TemporaryDirectory() as held:
        folder.write(trained, Path(held) / "out")
    whole = perf_counter() - begin
    print(f"a fit with {len(CANDIDATES)} candidates, {trained.replays.times} replays, {WORKERS} workers")
    print(f"  {fitted:.0f} s for fit and replays, {whole - fitted:.0f} s for examination and report")
    print(f"  {whole:.0f} s in all (goal {GOAL_SECONDS:.0f} s)")
    return whole <= GOAL_SECONDS
