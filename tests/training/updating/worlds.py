"""Models and the children of elsewhere that they are tried on: open data in halves, and invented cohorts."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from riskmodel import bundle as bundles
from riskmodel.bundle import Bundle
from synthetic_cohort import cohort as invented
from synthetic_cohort import registry, writing
from tests import demonstration
from tests.reference import KYPHOSIS
from training import cohort as cohorts
from training import protocol as protocols
from training.cohort import Cohort
from training.fitting import fit
from training.protocol import Protocol

REVISION = "revision_24m"


@cache
def kyphosis() -> tuple[Protocol, Cohort]:
    """The open kyphosis data under their protocol."""
    protocol = protocols.read(KYPHOSIS / "kyphosis.toml")
    return protocol, cohorts.read(KYPHOSIS / "kyphosis.csv", protocol)


@cache
def halves() -> tuple[Bundle, Protocol, Cohort]:
    """A model of every other child of the kyphosis data, its protocol, and the other half.

    Forty children hold no signal that a cautious verdict would call one; the model is to speak all the same.
    """
    protocol, cohort = kyphosis()
    first = np.arange(len(cohort)) % 2 == 0
    made = fit(cohort.take(first), protocol, times=20).bundle
    return written(replace(made, signal=True)), protocol, cohort.take(~first)


def written(bundle: Bundle) -> Bundle:
    """The bundle as it is after being written and read again."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "model.riskmodel.json"
        bundles.write(replace(bundle, digest=""), path)
        return bundles.read(path)


@cache
def model() -> Bundle:
    """The demonstration model."""
    return written(demonstration.bundle(REVISION))


def invent(folder: Path, seed: int = 77, children: int = 220, **how: object) -> Path:
    """Another invented cohort, as a CSV file."""
    recipe = replace(invented.Recipe(children=children, seed=seed), **how)  # type: ignore[arg-type]
    made = invented.make(recipe)
    writing.write_folder(registry.write_down(made, recipe), folder)
    return folder / "children.csv"


@cache
def others(seed: int = 77, children: int = 220) -> Cohort:
    """Invented children of elsewhere under the demonstration's protocol."""
    with TemporaryDirectory() as folder:
        return cohorts.read(invent(Path(folder), seed, children), demonstration.protocol(REVISION))
