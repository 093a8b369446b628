"""The demonstration cohort and models fitted to it, made once for all tests that need them."""

from functools import cache
from pathlib import Path

from riskmodel.bundle import Bundle
from training import cohort as cohorts
from training import protocol as protocols
from training.cohort import Cohort
from training.fitting import Trained, fit
from training.protocol import Protocol

FOLDER = Path(__file__).parents[1] / "synthetic_cohort" / "demonstration"
CASES = FOLDER / "cases"
REPLAYS = 20


@cache
def protocol(name: str = "revision_24m") -> Protocol:
    """A shipped protocol."""
    return protocols.read(name)


@cache
def cohort(name: str = "revision_24m") -> Cohort:
    """The demonstration cohort under a shipped protocol."""
    return cohorts.read(FOLDER / "children.csv", protocol(name))


@cache
def trained(name: str = "revision_24m") -> Trained:
    """A fit of a shipped protocol with few replays."""
    return fit(cohort(name), protocol(name), times=REPLAYS)


def bundle(name: str = "revision_24m") -> Bundle:
    """The bundle of that fit, not yet written."""
    return trained(name).bundle
