"""Three invented centres, and all their children as one cohort."""

from dataclasses import replace
from functools import cache

import numpy as np

from tests import demonstration
from tests.training.updating import worlds
from training.cohort import Cohort
from training.protocol import Protocol
from training.sharing import Masks, Round, settle

NAMES = ("TW", "CM", "HS")
SECRETS = {
    name: {other: "a phrase of " + " and ".join(sorted((name, other))) for other in NAMES if other != name}
    for name in NAMES
}
PLAIN = {name: Masks(name, {}) for name in NAMES}


def protocol() -> Protocol:
    """What the three agreed on."""
    return demonstration.protocol(worlds.REVISION)


@cache
def centres() -> dict[str, Cohort]:
    """Name -> children; about 700 together."""
    whole = worlds.others(5, 900)
    assert whole.centre is not None
    codes = {name: whole.centre.labels.index(name) for name in NAMES}
    return {name: whole.take(np.flatnonzero(whole.centre.values == code)) for name, code in codes.items()}


@cache
def stacked(without: str | None = None) -> tuple[Cohort, Protocol]:
    """All rows in one place, each centre with its own censoring curve."""
    whole = worlds.others(5, 900)
    assert whole.centre is not None
    codes = [whole.centre.labels.index(name) for name in NAMES if name != without]
    rows = np.concatenate([np.flatnonzero(whole.centre.values == code) for code in codes])
    asked = protocol()
    return whole.take(rows), replace(asked, outcome=replace(asked.outcome, censoring_by_centre=True))


@cache
def settled() -> Round:
    """The rounds up to the one that asks for judgement."""
    return settle(centres(), protocol())
