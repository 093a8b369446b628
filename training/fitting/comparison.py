"""How the candidates did against each other on the same left-out children, and what the glass box costs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import Floats
from training.candidates import paired_difference
from training.metrics import Measure, log_losses
from training.outcome import Outcome
from training.replay import NotReplayed, ReplayResult
from training.replay.out_of_bag import losses
from training.replay.result import LEVEL

REACH = 1.96
TREES = ("trees_without_interactions", "trees")
NOBODY_LEFT_OUT = "no replay left out a child whose outcome is known"


@dataclass(frozen=True, slots=True)
class Difference:
    """Out-of-bag value of the shipped model less that of another: `value` with its 95% interval.

    For log loss and Brier a positive value is what the shipped model loses on average for each child; its interval
    comes from the spread over children. For c a negative value is what it loses; its interval is the middle 95% of the
    replays.
    """

    value: Measure
    low: Measure
    high: Measure


@dataclass(frozen=True, slots=True)
class Rival:
    """A candidate beside the shipped model, on the replays that both have."""

    name: str
    log_loss: Difference
    brier: Difference
    c: Difference

    @property
    def is_box(self) -> bool:
        """Whether it is one that cannot be read: the gap to it is the price of the glass box."""
        return self.name in TREES


@dataclass(frozen=True, slots=True)
class Comparison:
    """All candidates, the shipped one first: `replayed`, those that could not be fitted, and the rivals' gaps."""

    replayed: tuple[ReplayResult, ...]
    refused: tuple[NotReplayed, ...]
    rivals: tuple[Rival, ...]


def compare(found: Sequence[ReplayResult | NotReplayed], outcome: Outcome) -> Comparison:
    """Compare the candidates that were replayed together; the first is the one that is shipped."""
    replayed = tuple(held for held in found if isinstance(held, ReplayResult))
    refused = tuple(held for held in found if isinstance(held, NotReplayed))
    shipped = replayed[0]
    return Comparison(replayed, refused, tuple(_rival(shipped, held, outcome) for held in replayed[1:]))


def _rival(shipped: ReplayResult, other: ReplayResult, outcome: Outcome) -> Rival:
    return Rival(
        name=other.name,
        log_loss=_mean_gap(shipped, other, outcome, log_losses),
        brier=_mean_gap(shipped, other, outcome, lambda y, p: (y - p) ** 2),
        c=_c_gap(shipped, other),
    )


def _mean_gap(
    shipped: ReplayResult, other: ReplayResult, outcome: Outcome, loss: Callable[[Floats, Floats], Floats]
) -> Difference:
    both = min(shipped.times, other.times)
    first, second = (losses(held, outcome.label, loss, replays=both) for held in (shipped, other))
    if not np.any(~np.isnan(first) & ~np.isnan(second) & outcome.known):
        none = Measure.none(NOBODY_LEFT_OUT)
        return Difference(none, none, none)
    gap, error = paired_difference(first, second, outcome.weight)
    return Difference(Measure(gap), Measure(gap - REACH * error), Measure(gap + REACH * error))


def _c_gap(shipped: ReplayResult, other: ReplayResult) -> Difference:
    both = min(shipped.times, other.times)
    gaps = shipped.per_replay["c"][:both, 2] - other.per_replay["c"][:both, 2]
    gaps = gaps[~np.isnan(gaps)]
    if not len(gaps):
        none = Measure.none(NOBODY_LEFT_OUT)
        return Difference(none, none, none)
    low, high = np.quantile(gaps, [(1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0])
    return Difference(Measure(float(gaps.mean())), Measure(float(low)), Measure(float(high)))
