"""Plant faults in the numerical core, one at a time, and see which of them the tests notice: `make mutants`.

A seeded sample of all faults that `sites` finds room for; each is tried by the tests of its own part. What came of
each stands in docs/mutants.csv, and docs/mutants.md says why those survive that do.
"""

import argparse
import csv
import importlib.abc
import importlib.util
import os
import random
import signal
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib.machinery import ModuleSpec
from pathlib import Path
from threading import Lock
from types import ModuleType
from typing import Final

from tests.mutation.sites import NOTHING, Site, planted, sites

ROOT: Final = Path(__file__).parents[2]
TABLE: Final = ROOT / "docs" / "mutants.csv"
SEED: Final = 20261125
SAMPLE: Final = 300
# Seconds after which a fault counts as noticed: the tests no longer come to an end.
PATIENCE: Final = 300
HEAD: Final = ("module", "line", "fault", "outcome", "seconds")

_SCORING: Final = ("tests/riskmodel/test_scoring.py", "tests/riskmodel/test_bundle.py")
# Part of the core, and the tests that speak of it.
PARTS: Final[dict[str, tuple[str, ...]]] = {
    "training/outcome": ("tests/training/outcome",),
    "training/posterior": ("tests/training/test_posterior.py", "tests/training/fitting/test_pipeline.py"),
    "training/metrics": ("tests/training/metrics",),
    "training/replay": ("tests/training/test_replay.py", "tests/training/fitting"),
    "riskmodel/terms.py": ("tests/riskmodel/test_terms.py", "tests/training/test_features.py", *_SCORING),
    "riskmodel/model.py": (
        "tests/riskmodel/test_missing.py",
        "tests/riskmodel/test_account.py",
        *_SCORING,
        "tests/training/test_replay.py",
    ),
    "riskmodel/missing.py": ("tests/riskmodel/test_missing.py", "tests/training/test_features.py", *_SCORING),
    "riskmodel/scoring.py": _SCORING,
    "riskmodel/account.py": ("tests/riskmodel/test_account.py", *_SCORING, "tests/riskmodel/documents/test_surgeon.py"),
    "riskmodel/anatomy": ("tests/riskmodel/anatomy", "tests/riskmodel/plans"),
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """A fault in a module (a path from the root), and the tests to try it with."""

    module: str
    site: Site
    tests: tuple[str, ...]


def everything() -> list[Mutant]:
    """All faults of the core, in order."""
    found = []
    for part, tests in PARTS.items():
        place = ROOT / part
        for path in [place] if place.is_file() else sorted(place.glob("*.py")):
            module = path.relative_to(ROOT).as_posix()
            found += [Mutant(module, site, tests) for site in sites(path.read_text(encoding="utf-8"))]
    return found


def sample(count: int = SAMPLE, seed: int = SEED) -> list[Mutant]:
    """The faults that are tried."""
    return random.Random(seed).sample(everything(), count)  # noqa: S311


class _Planted(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Imports one module with the fault in it, and leaves all others alone."""

    def __init__(self, mutant: Mutant) -> None:
        self.name = mutant.module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        self.path = ROOT / mutant.module
        self.source = planted(self.path.read_text(encoding="utf-8"), mutant.site)

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """The planted module alone."""
        if fullname != self.name:
            return None
        package = [str(self.path.parent)] if self.path.name == "__init__.py" else None
        return importlib.util.spec_from_file_location(
            fullname, self.path, loader=self, submodule_search_locations=package
        )

    def exec_module(self, module: ModuleType) -> None:
        """Run the source with the fault."""
        exec(compile(self.source, str(self.path), "exec"), module.__dict__)  # noqa: S102


def _attempt(mutant: Mutant) -> int:
    """Exit status of the tests, in this very process."""
    import pytest

    sys.meta_path.insert(0, _Planted(mutant))
    quiet = ["-x", "-q", "--no-header", "--no-summary", "-p", "no:cacheprovider", "-m", "not slow", "-W", "ignore"]
    return int(pytest.main([*quiet, *mutant.tests]))


def outcome(mutant: Mutant) -> tuple[str, float]:
    """What the tests say of the fault: noticed, survived, or never ending (noticed as well); and after how long."""
    started = time.monotonic()
    child = os.fork()
    if child == 0:
        silence = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silence, 1)
        os.dup2(silence, 2)
        os._exit(0 if _attempt(mutant) == 0 else 1)
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        seconds = time.monotonic() - started
        if done:
            return ("survived" if status == 0 else "noticed"), seconds
        if seconds > PATIENCE:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "never ended", seconds
        time.sleep(0.1)


def _key(mutant: Mutant) -> tuple[str, str, str]:
    return mutant.module, str(mutant.site.line), mutant.site.words


def main() -> None:
    """Try the sample, two at a time; those of an earlier run that stand in the table are not tried again."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--count", type=int, default=SAMPLE)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=TABLE)
    asked = parser.parse_args()
    _warm_up()
    _refuse_a_red_start()
    known = _read(asked.out)
    todo = [mutant for mutant in sample()[: asked.count] if _key(mutant) not in known]
    lock = Lock()

    def one(mutant: Mutant) -> None:
        said, seconds = outcome(mutant)
        with lock:
            _append(asked.out, (*_key(mutant), said, f"{seconds:.0f}"))
            sys.stdout.write("." if said != "survived" else f"\nsurvived: {' '.join(_key(mutant))}\n")
            sys.stdout.flush()

    with ThreadPoolExecutor(asked.workers) as pool:
        list(pool.map(one, todo))
    held = list(_read(asked.out).values())
    noticed = sum(said != "survived" for said in held)
    sys.stdout.write(f"\n{noticed} of {len(held)} noticed ({100 * noticed / len(held):.0f}%; at least 85%)\n")


def _warm_up() -> None:
    """Import what every test needs and no fault is planted in, once, before the forks."""
    for name in ("numpy", "pandas", "pytest", "scipy.stats", "sklearn.linear_model"):
        importlib.import_module(name)


def _refuse_a_red_start() -> None:
    """Tests that fail without a fault would notice every fault."""
    for part, tests in PARTS.items():
        path = next(iter([ROOT / part] if part.endswith(".py") else sorted((ROOT / part).glob("*.py"))))
        said, _ = outcome(Mutant(path.relative_to(ROOT).as_posix(), NOTHING, tests))
        if said != "survived":
            raise SystemExit(f"the tests of {part} do not pass as they are: mend that first")


def _read(path: Path) -> dict[tuple[str, ...], str]:
    if not path.is_file():
        return {}
    with path.open(encoding="utf-8", newline="") as held:
        return {tuple(row[name] for name in HEAD[:3]): row["outcome"] for row in csv.DictReader(held)}


def _append(path: Path, row: tuple[str, ...]) -> None:
    new = not path.is_file()
    with path.open("a", encoding="utf-8", newline="") as held:
        writer = csv.writer(held, lineterminator="\n")
        writer.writerows([HEAD, row] if new else [row])


if __name__ == "__main__":
    main()
