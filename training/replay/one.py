"""One replay: draw the children again, do everything again, and see how the result does on the children left."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from riskmodel.terms import slices
from training.candidates import Candidate, Fitted
from training.cohort import Cohort
from training.features import Design, Prepared
from training.metrics import MEASURE_NAMES, Measures, measures
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol

# Below this spread of the log-odds a replay's model is the rate in all but name.
SHRUNK_SD = 0.1
NO_OUTCOME = "no event, or nothing but events, among the children drawn"


@dataclass(frozen=True, slots=True)
class Study:
    """What all replays share.

    `prepared`: what was decided without the outcome, and what all designs have in common. `counted` (n,) int: 1, or 0
    for a child whose outcome is not stated.

    `candidates`: all meet the same drawn children, so that what they do can be compared child by child; the first is
    the one that is shipped. `grids`: (g, width) columns of each term where its direction is asked for. `smooth`:
    whether the measures that need the smooth calibration curve are made in every replay.
    """

    cohort: Cohort
    protocol: Protocol
    prepared: Prepared
    outcome: Outcome
    candidates: tuple[Candidate, ...]
    counted: NDArray[np.int64]
    grids: tuple[Floats, ...]
    smooth: bool = False


@dataclass(frozen=True, slots=True)
class Replay:
    """What one candidate leaves behind of one replay.

    `drawn` (n,) how often each child was drawn. `values` (3, measures): on the children drawn, on the cohort, on the
    children not drawn; NaN where there is none. `probability` (n,) of all children; `positive`: per grid point,
    whether the term raised the estimate (empty for a candidate that is not a sum of terms); `chosen`: which candidate
    gave the numbers; `shrunk`: whether it came out as the rate; `failed`: why there is nothing.
    """

    drawn: NDArray[np.int16]
    values: Floats
    probability: Floats
    positive: NDArray[np.bool_]
    chosen: str
    shrunk: bool
    failed: str | None = None


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A sample of the children: how often each is in it, their outcomes and the design learned from it."""

    counts: NDArray[np.int64]
    outcome: Outcome
    design: Design

    @property
    def times(self) -> Floats:
        return self.counts.astype(np.float64)


def replay(study: Study, number: int, counts: NDArray[np.int64], rng: np.random.Generator) -> tuple[Replay | None, ...]:
    """Do everything again for the sample in which child i is `counts[i]` times: one entry per candidate.

    A candidate for which fewer replays are enough takes no part in later ones: its entry is None.
    """
    counted = counts * study.counted
    outcome = at_horizon(study.cohort, study.protocol, counts=counts.astype(np.float64))
    can_tell = 0.0 < float(counted @ (outcome.weight * outcome.label)) < float(counted @ outcome.weight)
    if not can_tell:
        return tuple(
            _nothing(study, counts, NO_OUTCOME) if _takes_part(held, number) else None for held in study.candidates
        )
    design = study.prepared.design(counts.astype(np.float64))
    drawn = _Drawn(counts, outcome, design)
    # A stream for each: what one candidate draws does not move another.
    return tuple(
        _attempt(study, held, drawn, own) if _takes_part(held, number) else None
        for held, own in zip(study.candidates, rng.spawn(len(study.candidates)), strict=True)
    )


def _takes_part(candidate: Candidate, number: int) -> bool:
    return candidate.most_replays is None or number < candidate.most_replays


def _attempt(study: Study, candidate: Candidate, drawn: _Drawn, rng: np.random.Generator) -> Replay:
    try:
        fitted = candidate.fit(drawn.design, study.cohort, drawn.outcome, counts=drawn.times, rng=rng)
    except FitRefused as refused:
        return _nothing(study, drawn.counts, str(refused))
    p = fitted.probability
    return Replay(
        drawn=drawn.counts.astype(np.int16),
        values=np.array([_numbers(held) for held in _measured(study, drawn, p)]),
        probability=p,
        positive=_pulls(study, drawn.design, fitted),
        chosen=fitted.name,
        shrunk=bool(_log_odds(p).std() < SHRUNK_SD),
    )


def _log_odds(p: Floats) -> Floats:
    held = np.clip(p, 1e-12, 1.0 - 1e-12)
    return np.log(held / (1.0 - held))


def _measured(study: Study, drawn: _Drawn, p: Floats) -> tuple[Measures, Measures, Measures]:
    """On the children drawn, on the cohort, on the children not drawn."""
    whole, counted = study.outcome, study.counted
    return (
        measures(drawn.outcome.label, p, drawn.outcome.weight, counts=drawn.counts * counted, smooth=study.smooth),
        measures(whole.label, p, whole.weight, counts=counted, smooth=study.smooth),
        # Nothing is corrected by what the smooth curve says of the children left out, and it costs most.
        measures(whole.label, p, whole.weight, counts=counted * (drawn.counts == 0), smooth=False),
    )


def _pulls(study: Study, design: Design, fitted: Fitted) -> NDArray[np.bool_]:
    if fitted.coefficients is None:
        return np.empty(0, dtype=bool)
    pulls = [
        (grid - design.column_means[span]) @ fitted.coefficients[span] > 0.0
        for grid, (_, span) in zip(study.grids, slices(design.recipe.terms), strict=True)
    ]
    return np.concatenate([*pulls, np.empty(0, dtype=bool)])


def _numbers(held: Measures) -> list[float]:
    return [np.nan if measure.value is None else measure.value for _, measure in held.items()]


def _nothing(study: Study, counts: NDArray[np.int64], why: str) -> Replay:
    empty = np.full((3, len(MEASURE_NAMES)), np.nan)
    nobody = np.full(len(study.cohort), np.nan)
    return Replay(counts.astype(np.int16), empty, nobody, np.empty(0, dtype=bool), "", shrunk=False, failed=why)
