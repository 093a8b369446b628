"""What the replays say together: optimism, instability, stability of directions."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.model import Stability
from training.candidates import Fitted
from training.metrics import Measure, Measures, no_information
from training.outcome import Outcome

LEVEL = 0.95
FEWEST_REPLAYS = 20
# The replays of the slope have a long tail.
BY_MEDIAN = frozenset({"slope"})
# A logistic fit makes these right, or nearly so, on whatever children it is given: how they vary from replay to replay
# says nothing about how well they are known.
SET_BY_THE_FIT = frozenset({"observed_expected", "citl", "intercept", "slope"})


@dataclass(frozen=True, slots=True)
class Corrected:
    """One measure: as it appears, corrected for optimism both ways, and the interval about Harrell's value.

    Each is a `Measure`: a number, or the reason why there is none.
    """

    apparent: Measure
    harrell: Measure
    point632plus: Measure
    low: Measure
    high: Measure


@dataclass(frozen=True, slots=True)
class ReplayResult:
    """All replays of one candidate.

    `name` of the candidate, and `fitted`, what it is on the cohort itself. `measures` by name. `per_replay`: name ->
    (B, 3) on the children drawn, on the cohort, on the children not drawn (NaN where there was none). `predictions`
    (B, n) probability of each child in each replay, NaN rows where the replay failed; `drawn` (B, n) how often the
    child was drawn; `per_child_instability` (n,) mean absolute difference from the probability of the fitted model
    (Riley and Collins 2023). `stability` of each term's direction; `shrunk_to_rate`: share of replays whose model came
    out as the rate; `chosen`: candidate -> number of replays whose numbers it gave; `failed`: reason -> number of
    replays; `times`: replays asked for.
    """

    name: str
    fitted: Fitted
    apparent: Measures
    measures: Mapping[str, Corrected]
    per_replay: Mapping[str, Floats]
    predictions: Floats
    drawn: NDArray[np.int16]
    per_child_instability: Floats
    stability: tuple[Stability, ...]
    shrunk_to_rate: float
    chosen: Mapping[str, int]
    failed: Mapping[str, int]
    times: int

    @property
    def mean_instability(self) -> float:
        """Mean over children of the mean absolute difference in probability."""
        return float(self.per_child_instability.mean())


@dataclass(frozen=True, slots=True)
class NotReplayed:
    """A candidate that could not be fitted to the cohort itself, and why."""

    name: str
    reason: str


def correct(name: str, apparent: Measure, values: Floats, uninformed: float | None) -> Corrected:
    """Correct the measure `name` for optimism.

    Parameters
    ----------
    values
        (B, 3): on the children drawn, on the cohort, on the children not drawn; NaN where there is none.
    uninformed
        The value under no information, for .632+; None where it is not defined.

    Notes
    -----
    Harrell: apparent - mean(drawn - cohort), the median for the slope. .632+ (Efron and Tibshirani 1997).
    """
    if apparent.value is None:
        return Corrected(apparent, apparent, apparent, apparent, apparent)
    both = _on_both(values)
    if len(both) < min(FEWEST_REPLAYS, len(values)) or not len(both):
        none = Measure.none(f"only {len(both)} of {len(values)} replays gave a value")
        return Corrected(apparent, none, none, none, none)
    point632plus = _point632plus(apparent.value, values[:, 2], uninformed)
    corrected = apparent.value - optimism(values, by_median=name in BY_MEDIAN)
    return Corrected(apparent, Measure(corrected), point632plus, *_interval(name, both[:, 0], corrected))


def optimism(values: Floats, *, by_median: bool) -> float:
    """Mean or median over replays of (on the children drawn - on the cohort); `values` (B, 3) as in `correct`."""
    both = _on_both(values)
    gaps = both[:, 0] - both[:, 1]
    return float(np.median(gaps) if by_median else np.mean(gaps))


def _on_both(values: Floats) -> Floats:
    return values[~np.isnan(values[:, :2]).any(axis=1)]


def _interval(name: str, drawn: Floats, corrected: float) -> tuple[Measure, Measure]:
    """The spread over the samples, centred on the corrected value.

    A model fitted to a sample with children in it twice flatters itself more than the model does on the cohort, so that
    quantiles less the optimism would lie above the corrected value, at times all of them.
    """
    if name in SET_BY_THE_FIT:
        none = Measure.none("the fit sets this measure on its own children; an interval needs other patients")
        return none, none
    low, high = np.quantile(drawn - drawn.mean(), [(1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0]) + corrected
    return Measure(float(low)), Measure(float(high))


def _point632plus(apparent: float, outside: Floats, uninformed: float | None) -> Measure:
    if uninformed is None:
        return Measure.none("not defined for this measure: no value stands for no information")
    outside = outside[~np.isnan(outside)]
    if not len(outside):
        return Measure.none("no replay left out both a known case and a known non-case")
    left_out = float(outside.mean())
    gap, worst = left_out - apparent, uninformed - apparent
    # A loss rises and c falls towards no information; anything else counts as no overfitting at all.
    overfit = float(np.clip(gap / worst, 0.0, 1.0)) if gap * worst > 0.0 else 0.0
    bounded = uninformed if overfit == 1.0 else left_out
    weight = 0.632 / (1.0 - 0.368 * overfit)
    return Measure((1.0 - weight) * apparent + weight * bounded)


def without_information(outcome: Outcome, probability: Floats, counted: NDArray[np.int64]) -> Mapping[str, float]:
    """Values of the measures when outcomes and predictions are paired at random, where that is defined."""
    losses = no_information(outcome.label, probability, outcome.weight, counted)
    held = {"c": 0.5, "brier": losses.brier.value, "log_loss": losses.log_loss.value}
    return {name: value for name, value in held.items() if value is not None}
