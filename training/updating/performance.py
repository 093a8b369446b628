"""How well a model did on children that it had never seen: every measure with an interval, as a whole and in parts."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.metrics import (
    MEASURE_NAMES,
    SCALES,
    BandedCurve,
    CalibrationCurve,
    Measures,
    Ranged,
    banded,
    calibration_curve,
    estimates,
    measures,
    ranged,
)
from training.metrics.ranged import LEVEL
from training.outcome import at_horizon
from training.updating.children import Children

RESAMPLES = 500
# Below this share of resamples with a value there is no interval (own choice).
FEWEST_WITH_VALUE = 0.9


@dataclass(frozen=True, slots=True)
class Performance:
    """Every measure by name, and the calibration curve with its pointwise 95%."""

    measures: Mapping[str, Ranged]
    curve: BandedCurve


def performance(children: Children, *, times: int, rng: np.random.Generator) -> Performance:
    """Every measure of the model on these children, and the curve.

    Parameters
    ----------
    times
        Bootstrap samples of the children, censoring weights made anew in each.

    Notes
    -----
    c, observed/expected, calibration in the large and slope have intervals by formula, on the scale on which they are
    nearly normal, censoring weights taken as known; all others percentiles of the bootstrap. ICI and its like are 0
    for a perfect model and cannot be negative: their intervals lie too high where there are few events.
    """
    counted = children.cohort.course.known.astype(np.int64)
    outcome, p = children.outcome, children.probability
    apparent = measures(outcome.label, p, outcome.weight, counts=counted)
    curve = calibration_curve(outcome.label, p, outcome.weight, counted)
    values, curves = _resampled(children, curve, counted, times=times, rng=rng)
    exact = by_formula(children, counted > 0)
    held = {name: exact.get(name) or _percentiles(apparent, name, values[:, m]) for m, name in enumerate(MEASURE_NAMES)}
    return Performance(held, banded(curve, curves, level=LEVEL, fewest_share=FEWEST_WITH_VALUE))


def _resampled(
    children: Children, curve: CalibrationCurve, counted: NDArray[np.int64], *, times: int, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """(B, measures) and (B, g), NaN where there was none."""
    values, curves = np.full((times, len(MEASURE_NAMES)), np.nan), np.full((times, len(curve.y_prob)), np.nan)
    for b in range(times):
        drawn = np.bincount(rng.integers(0, len(children), len(children)), minlength=len(children))
        outcome = at_horizon(children.cohort, children.protocol, counts=drawn.astype(np.float64))
        sample = (outcome.label, children.probability, outcome.weight, drawn * counted)
        held = measures(*sample[:3], counts=sample[3])
        values[b] = [np.nan if measure.value is None else measure.value for _, measure in held.items()]
        again = calibration_curve(*sample, grid=curve.y_prob)
        if again.reason is None:
            curves[b] = again.observed
    return values, curves


def by_formula(children: Children, rows: NDArray[np.bool_]) -> dict[str, Ranged]:
    """c, observed/expected, calibration in the large and slope of some of the children, with intervals by formula."""
    outcome = children.outcome
    held = estimates(outcome.label[rows], children.probability[rows], outcome.weight[rows])
    return {name: ranged(held, name) for name in SCALES}


def _percentiles(apparent: Measures, name: str, values: Floats) -> Ranged:
    measure = getattr(apparent, name)
    if measure.value is None:
        return Ranged(None, None, None, resampled=True, reason=measure.reason)
    held = values[~np.isnan(values)]
    if len(held) < FEWEST_WITH_VALUE * len(values):
        reason = f"only {len(held)} of {len(values)} bootstrap samples gave a value"
        return Ranged(measure.value, None, None, resampled=True, reason=reason)
    low, high = np.quantile(held, ((1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0))
    return Ranged(measure.value, float(low), float(high), resampled=True)
