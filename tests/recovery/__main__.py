"""Run a stage of the recovery study, or all of them: `python -m tests.recovery [STAGE ...]`.

Rows already in the files are not made again, so that a run can be stopped at any moment and gone on with.
"""

import argparse
import sys
from pathlib import Path

from joblib import Parallel, delayed
from threadpoolctl import threadpool_limits

from tests.recovery import store
from tests.recovery.ground import ground
from tests.recovery.settings import Setting
from tests.recovery.stages import STAGES, Repeat


def run(stage: str, *, count: int | None = None, workers: int = 1, folder: Path = store.FOLDER) -> int:
    """Add the repeats of a stage that its file lacks; return how many were made."""
    held, file = STAGES[stage], store.path(stage, folder)
    store.settle(file)
    known = store.done(file)
    tasks = [(setting, seed) for setting, seed in held.tasks(count or held.count) if (setting.name, seed) not in known]
    if held.judged:
        for scenario in {setting.scenario for setting, _ in tasks}:
            ground(scenario)  # kept on disk, so that the workers read it
    made = Parallel(n_jobs=workers, return_as="generator_unordered", batch_size=1, pre_dispatch="2*n_jobs")(
        delayed(_rows)(held.repeat, *task) for task in tasks
    )
    for number, rows in enumerate(made, start=1):
        for row in rows:
            store.append(file, row)
        print(f"\r{stage}: {number} of {len(tasks)}", end="", file=sys.stderr, flush=True)
    store.settle(file)
    return len(tasks)


def _rows(repeat: Repeat, setting: Setting, seed: int) -> list[store.Row]:
    with threadpool_limits(limits=1):
        return list(repeat(setting, seed))


def main() -> None:
    """Read the command and run it."""
    parser = argparse.ArgumentParser(prog="python -m tests.recovery", description=__doc__)
    parser.add_argument("stages", nargs="*", metavar="STAGE", help=f"any of {', '.join(STAGES)}; without, the verdict")
    parser.add_argument("--repeats", type=int, help="per setting; without, what each stage asks for")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=store.FOLDER)
    asked = parser.parse_args()
    for stage in asked.stages or [name for name in STAGES if not name.startswith("tuning")]:
        run(stage, count=asked.repeats, workers=asked.workers, folder=asked.out)


if __name__ == "__main__":
    main()
