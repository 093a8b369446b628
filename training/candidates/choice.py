"""The rule that takes the simplest candidate within one standard error of the best, done again in every replay."""

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.cases.table import Floats
from training.candidates.base import Candidate, Fitted
from training.candidates.folds import folds_of_children
from training.cohort import Cohort
from training.features import Design
from training.metrics import log_losses
from training.outcome import Outcome, at_horizon
from training.protocol import ONE_STANDARD_ERROR, Protocol

FOLDS = 10


@dataclass(frozen=True, slots=True)
class OneStandardError:
    """Chooses among shippable candidates by their paired left-out log losses.

    Each child of the sample whose outcome is known is left out once, with all its copies, in one of 10 folds of
    children (fewer where events or non-events are fewer). Among the candidates whose mean loss exceeds the lowest by no
    more than the standard error of that difference, the simplest is fitted. Outcome weights are made anew without each
    fold; moments are those of the sample.

    Folds, and no inner bootstrap: within a replay one of those leaves two children in five to learn from, and is so
    noisy that the rate wins nearly always.
    """

    protocol: Protocol
    options: tuple[Candidate, ...]
    name: str = ONE_STANDARD_ERROR
    rank: int = 0
    most_replays: int | None = None

    def lacking(self, outcome: Outcome) -> str | None:
        """What the first option that cannot be fitted lacks."""
        return next((said for option in self.options if (said := option.lacking(outcome)) is not None), None)

    def warmed(self, fitted: Fitted) -> "OneStandardError":
        """The same, the option that was fitted starting from there."""
        warm = tuple(option.warmed(fitted) if option.name == fitted.name else option for option in self.options)
        return replace(self, options=warm)

    def fit(
        self, design: Design, cohort: Cohort, outcome: Outcome, *, counts: Floats, rng: np.random.Generator
    ) -> Fitted:
        """Choose on the sample, then fit the chosen one to all of it.

        Raises
        ------
        FitRefused
            When a candidate gives no finite fit, to the sample or without a fold.
        """
        losses = self._losses(design, cohort, outcome, counts, rng)
        picked = self.options[choose(losses, outcome.weight, counts, [option.rank for option in self.options])]
        return picked.fit(design, cohort, outcome, counts=counts, rng=rng)

    def _losses(
        self, design: Design, cohort: Cohort, outcome: Outcome, counts: Floats, rng: np.random.Generator
    ) -> Floats:
        """(options, n) log loss of each child by fits without its fold, NaN for a child whose outcome is not known."""
        losses = np.full((len(self.options), len(counts)), np.nan)
        known = np.flatnonzero(counts * outcome.weight > 0.0)
        y = outcome.label[known]
        count = int(min(FOLDS, y.sum(), len(y) - y.sum()))
        folds = folds_of_children(y, rng, count=count)
        for fold in range(count):
            out = known[folds == fold]
            rest = counts.copy()
            rest[out] = 0.0
            without = at_horizon(cohort, self.protocol, counts=rest)
            for i, option in enumerate(self.options):
                found = option.fit(design, cohort, without, counts=rest, rng=rng).probability
                losses[i, out] = log_losses(outcome.label[out], found[out])
        return losses


def paired_difference(
    losses: Floats, others: Floats, weights: Floats, counts: Floats | None = None
) -> tuple[float, float]:
    """Weighted mean of losses - others over the children that have both, and its standard error.

    Parameters
    ----------
    losses, others, weights
        (n,) each; NaN where a child has no loss.
    counts
        (n,) how often each child is in the sample, a copy counting as a row; None for once each.
    """
    copies = np.ones(len(losses)) if counts is None else counts
    both = ~(np.isnan(losses) | np.isnan(others)) & (weights * copies > 0.0)
    gap, weight, times = losses[both] - others[both], weights[both], copies[both]
    if not len(gap):
        return 0.0, 0.0
    share = weight / float(times @ weight)
    mean = float((times * share) @ gap)
    return mean, float(np.sqrt((times * share**2) @ (gap - mean) ** 2))


def choose(losses: Floats, weights: Floats, counts: Floats, ranks: list[int]) -> int:
    """Index of the simplest candidate within one standard error of the best, from (options, n) losses."""
    known = ~np.isnan(losses).any(axis=0)
    means = losses[:, known] @ (weights * counts)[known]
    best = int(np.argmin(means))
    gaps = [paired_difference(held, losses[best], weights, counts) for held in losses]
    near = [i for i, (mean, error) in enumerate(gaps) if mean <= error]
    return min(near, key=lambda i: ranks[i])
