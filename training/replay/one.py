"""One replay: draw the children again, do everything again, and see how the result does on the children left."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from riskmodel.terms import slices
from training.candidates import Candidate, Fitted
from training.cohort import Cohort
from training.features import Declared, learn
from training.metrics import MEASURE_NAMES, Measures, measures
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol

# Below this spread of the log-odds a replay's model is the rate in all but name.
SHRUNK_SD = 0.1
NO_OUTCOME = "no event, or nothing but events, among the children drawn"


@dataclass(frozen=True, slots=True)
class Study:
    """What all replays share. `counted` (n,) int: 1, or 0 for a child whose outcome is not stated.

    `grids`: (g, width) columns of each term where its direction is asked for. `smooth`: whether the measures that
    need the smooth calibration curve are made in every replay.
    """

    cohort: Cohort
    protocol: Protocol
    declared: Declared
    outcome: Outcome
    candidate: Candidate
    counted: NDArray[np.int64]
    grids: tuple[Floats, ...]
    smooth: bool = False


@dataclass(frozen=True, slots=True)
class Replay:
    """What one replay leaves behind.

    `values` (3, measures): on the children drawn, on the cohort, on the children not drawn; NaN where there is none.
    `probability` (n,) of all children; `positive`: per grid point, whether the term raised the estimate (empty for a
    candidate that is not a sum of terms); `shrunk`: whether it came out as the rate; `failed`: why there is nothing.
    """

    values: Floats
    probability: Floats
    positive: NDArray[np.bool_]
    shrunk: bool
    failed: str | None = None


def replay(study: Study, counts: NDArray[np.int64], rng: np.random.Generator) -> Replay:
    """Do everything again for the sample in which child i is `counts[i]` times."""
    counted = counts * study.counted
    drawn = at_horizon(study.cohort, study.protocol, counts=counts.astype(np.float64))
    if not 0.0 < float(counted @ (drawn.weight * drawn.label)) < float(counted @ drawn.weight):
        return _nothing(study, NO_OUTCOME)
    try:
        fitted, positive = _fit(study, drawn, counts.astype(np.float64), rng)
    except FitRefused as refused:
        return _nothing(study, str(refused))
    p, whole = fitted.probability, study.outcome
    values = [
        measures(drawn.label, p, drawn.weight, counts=counted, smooth=study.smooth),
        measures(whole.label, p, whole.weight, counts=study.counted, smooth=study.smooth),
        measures(whole.label, p, whole.weight, counts=study.counted * (counts == 0), smooth=study.smooth),
    ]
    log_odds = np.log(p / (1.0 - p))
    return Replay(np.array([_numbers(each) for each in values]), p, positive, bool(log_odds.std() < SHRUNK_SD))


def _fit(study: Study, outcome: Outcome, counts: Floats, rng: np.random.Generator) -> tuple[Fitted, NDArray[np.bool_]]:
    design = learn(study.cohort, study.protocol, counts=counts, declared=study.declared)
    fitted = study.candidate.fit(design, study.cohort, outcome, counts=counts, rng=rng)
    if fitted.coefficients is None:
        return fitted, np.empty(0, dtype=bool)
    pulls = [
        (grid - design.column_means[span]) @ fitted.coefficients[span] > 0.0
        for grid, (_, span) in zip(study.grids, slices(design.recipe.terms), strict=True)
    ]
    return fitted, np.concatenate([*pulls, np.empty(0, dtype=bool)])


def _numbers(held: Measures) -> list[float]:
    return [np.nan if measure.value is None else measure.value for _, measure in held.items()]


def _nothing(study: Study, why: str) -> Replay:
    empty = np.full((3, len(MEASURE_NAMES)), np.nan)
    nobody = np.full(len(study.cohort), np.nan)
    return Replay(empty, nobody, np.empty(0, dtype=bool), shrunk=False, failed=why)
