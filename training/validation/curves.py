"""What the pictures of the report are drawn from: calibration, decision, distribution, and how they move."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.cohort import Cohort
from training.metrics import (
    BandedCurve,
    CalibrationCurve,
    RiskDistribution,
    banded,
    calibration_curve,
    net_benefit,
    risk_distribution,
)
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol
from training.replay import ReplayResult

BAND_LEVEL = 0.90
BAND = ((1.0 - BAND_LEVEL) / 2.0, (1.0 + BAND_LEVEL) / 2.0)
THRESHOLDS = 26
WIDE = (0.025, 0.975)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Calibration(BandedCurve):
    """Smooth curve of what happened at risks given, corrected for optimism, with the band of 90% of replays.

    `apparent` (g,) is the curve on the children that the model was fitted to. The band: each replay's model on the
    whole cohort (calibration instability, Riley & Collins 2023).
    """

    apparent: Floats


@dataclass(frozen=True, slots=True)
class Decision:
    """Net benefit (t,) at the protocol's thresholds: of the model as it appears and corrected, of acting on all.

    `low` and `high`: 90% of the replays' models on the whole cohort. Acting on none is 0 everywhere.
    """

    thresholds: Floats
    apparent: Floats
    corrected: Floats
    low: Floats
    high: Floats
    treat_all: Floats
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Instability:
    """Each child's risk (n,), the middle 95% of what the replays gave it, and its mean absolute difference."""

    risk: Floats
    low: Floats
    high: Floats
    moved: Floats


@dataclass(frozen=True, slots=True)
class Curves:
    """Everything that is drawn of the shipped model."""

    calibration: Calibration
    decision: Decision
    distribution: RiskDistribution
    instability: Instability


def curves(cohort: Cohort, protocol: Protocol, outcome: Outcome, replays: ReplayResult) -> Curves:
    """The curves of the shipped model and of its replays."""
    p, counted = replays.fitted.probability, cohort.course.known.astype(np.int64)
    sample = _Samples(cohort, protocol, outcome, replays, counted)
    return Curves(
        calibration=_calibration(sample),
        decision=_decision(sample),
        distribution=risk_distribution(outcome.label, p, outcome.weight, counted),
        instability=_instability(replays),
    )


@dataclass(frozen=True, slots=True)
class _Samples:
    """The cohort and the samples of its replays; those that failed left out."""

    cohort: Cohort
    protocol: Protocol
    outcome: Outcome
    replays: ReplayResult
    counted: NDArray[np.int64]

    @property
    def worked(self) -> list[tuple[NDArray[np.int16], Floats]]:
        """(how often each child was drawn, its probability) of each replay."""
        pairs = zip(self.replays.drawn, self.replays.predictions, strict=True)
        return [(drawn, p) for drawn, p in pairs if not np.isnan(p).any()]

    def drawn(self, counts: NDArray[np.int16]) -> Outcome:
        return at_horizon(self.cohort, self.protocol, counts=counts.astype(np.float64))


def _calibration(held: _Samples) -> Calibration:
    """The apparent curve, and the same less the mean over replays of (on the children drawn - on the cohort)."""
    whole, p = held.outcome, held.replays.fitted.probability
    apparent = calibration_curve(whole.label, p, whole.weight, held.counted)
    grid, on_drawn, on_whole = apparent.y_prob, [], []
    for counts, replayed in held.worked if apparent.reason is None else ():
        sample = held.drawn(counts)
        own = calibration_curve(sample.label, replayed, sample.weight, counts * held.counted, grid=grid)
        other = calibration_curve(whole.label, replayed, whole.weight, held.counted, grid=grid)
        if own.reason is None and other.reason is None:
            on_drawn.append(own.observed)
            on_whole.append(other.observed)
    if not on_whole:
        reason, empty = apparent.reason or "no replay gave a curve", np.empty(0)
        return Calibration(
            predicted=grid, observed=empty, low=empty, high=empty, reason=reason, apparent=apparent.observed
        )
    optimism = np.mean(np.array(on_drawn) - np.array(on_whole), axis=0)
    corrected = CalibrationCurve(grid, np.clip(apparent.observed - optimism, 0.0, 1.0))
    band = banded(corrected, np.array(on_whole), level=BAND_LEVEL)
    return Calibration(
        predicted=grid, observed=corrected.observed, low=band.low, high=band.high, apparent=apparent.observed
    )


def _decision(held: _Samples) -> Decision:
    whole, thresholds = held.outcome, np.linspace(*held.protocol.report.thresholds, THRESHOLDS)
    apparent = net_benefit(whole.label, held.replays.fitted.probability, whole.weight, thresholds, held.counted)
    on_drawn, on_whole = [], []
    for counts, replayed in held.worked:
        sample = held.drawn(counts)
        own = net_benefit(sample.label, replayed, sample.weight, thresholds, counts * held.counted)
        on_drawn.append(own.model)
        on_whole.append(net_benefit(whole.label, replayed, whole.weight, thresholds, held.counted).model)
    if not on_whole:
        empty = np.empty(0)
        return Decision(thresholds, apparent.model, empty, empty, empty, apparent.treat_all, "every replay failed")
    corrected = apparent.model - np.mean(np.array(on_drawn) - np.array(on_whole), axis=0)
    low, high = np.quantile(on_whole, BAND, axis=0)
    return Decision(thresholds, apparent.model, corrected, low, high, apparent.treat_all)


def _instability(replays: ReplayResult) -> Instability:
    p = replays.fitted.probability
    worked = replays.predictions[~np.isnan(replays.predictions).any(axis=1)]
    low, high = np.quantile(worked, WIDE, axis=0) if len(worked) else (p, p)
    return Instability(p, low, high, replays.per_child_instability)
