"""Small cohorts of our own making, fitted and ready to be examined."""

from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit

from riskmodel.cases.table import Floats, column
from tests import demonstration
from tests.training.candidates.studies import study
from training.candidates import KNOWN, chosen
from training.cohort import Cohort
from training.features import declare, learn
from training.outcome import at_horizon
from training.protocol import Protocol
from training.validation import Validation, examine
from training.validation.refit import Examined


@cache
def validation() -> Validation:
    """The examination of the demonstration's fit, made once for all tests that need it."""
    return examine(demonstration.trained())


def examined(cohort: Cohort, protocol: Protocol) -> Examined:
    """The penalised model of the protocol, fitted to the cohort."""
    declared, outcome = declare(cohort, protocol), at_horizon(cohort, protocol)
    design, kind = learn(cohort, protocol, declared=declared), KNOWN["penalised"](protocol)
    fitted = kind.fit(design, cohort, outcome, counts=np.ones(len(cohort)), rng=np.random.default_rng(1))
    return Examined(cohort, protocol, declared, outcome, design, fitted, chosen(protocol), kind)


def world(count: int = 300, *, seed: int = 1, slope: float = 1.2) -> tuple[Floats, Floats, np.random.Generator]:
    """(n,) a number and (n,) outcomes that follow it, and the generator behind them."""
    rng = np.random.default_rng(seed)
    x = rng.normal(size=count)
    return x, (rng.random(count) < expit(slope * x - 1.2)).astype(np.float64), rng


def placed(cohort: Cohort, centres: ArrayLike | None = None, years: ArrayLike | None = None) -> Cohort:
    """The cohort with centres (codes from 0, or NaN) and years of operation."""
    codes = None if centres is None else np.asarray(centres, dtype=np.float64)
    labels = () if codes is None else tuple(f"U{i}" for i in range(int(np.nanmax(codes)) + 1))
    return replace(
        cohort,
        centre=None if codes is None else column(codes, labels=labels),
        year=None if years is None else column(np.asarray(years, dtype=np.float64)),
    )


def plain(count: int = 300, *, seed: int = 1, slope: float = 1.2) -> tuple[Cohort, Protocol]:
    """A yes/no cohort with one telling number and one that is noise."""
    x, y, rng = world(count, seed=seed, slope=slope)
    return study(y, {"a": x, "b": rng.normal(size=count)})
