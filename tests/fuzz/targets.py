"""What is fed: bytes in, nothing out; anything but a `RiskmodelError` that escapes is a defect of the reader."""

import tempfile
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path

from riskmodel import bundle as bundles
from riskmodel.dictionary.model import TABLES
from riskmodel.errors import RiskmodelError
from riskmodel.scoring import Scorer
from tests.fuzz.mutations import bundle_mutant, cohort_mutant, resealed
from training import cohort as cohorts
from training import protocol as protocols
from training.protocol import Protocol

ON = date(2026, 12, 1)
BETWEEN_TABLES = b"\x1c"  # a control character that no table holds: several files in one input
CASE = {"Age": 60, "Number": 4, "Start": 10}


@cache
def _folder() -> Path:
    """A folder for this process; in memory where the machine has one."""
    memory = Path("/dev/shm")  # noqa: S108 - the folder in it is made under a fresh name
    return Path(tempfile.mkdtemp(prefix="riskmodel_fuzz_", dir=memory if memory.is_dir() else None))


@cache
def _protocol() -> Protocol:
    return protocols.read("fixation_failure_24m")


def read_cohort(raw: bytes) -> None:
    """Read the bytes as a cohort: one table, or a folder of several, under a shipped protocol."""
    parts = raw.split(BETWEEN_TABLES)[: len(TABLES)]
    for name in TABLES:
        (_folder() / f"{name}.csv").unlink(missing_ok=True)
    for name, part in zip(TABLES, parts, strict=False):
        if part or name == TABLES[0]:
            (_folder() / f"{name}.csv").write_bytes(part)
    try:
        cohorts.read(_folder(), _protocol())
    except RiskmodelError as error:
        _told(error)


def read_bundle(raw: bytes) -> None:
    """Read the bytes as they are and under a digest that fits them; score a case with what was believed."""
    for text in (raw, resealed(raw)):
        path = _folder() / "strange.riskmodel.json"
        path.write_bytes(text)
        try:
            Scorer(bundles.read(path)).score(CASE, on=ON)
        except RiskmodelError as error:
            _told(error)


def _told(error: RiskmodelError) -> None:
    if not str(error).strip():
        raise AssertionError(f"{type(error).__name__} without a word")


TARGETS: dict[str, tuple[Callable[[bytes], None], Callable[..., bytes]]] = {
    "cohort": (read_cohort, cohort_mutant),
    "bundle": (read_bundle, bundle_mutant),
}
