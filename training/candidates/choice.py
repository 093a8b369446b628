"""The rule that takes the simplest candidate within one standard error of the best, done again in every replay."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.candidates.base import Candidate, Fitted
from training.cohort import Cohort
from training.features import Design
from training.outcome import Outcome, at_horizon
from training.protocol import ONE_STANDARD_ERROR, Protocol

# Inner samples: each child is left out of three or four of them.
SAMPLES = 10


@dataclass(frozen=True, slots=True)
class OneStandardError:
    """Chooses among shippable candidates by their paired out-of-bag log loss for each child.

    The sample's children are drawn again with all their copies; the child's loss is the mean over the draws that
    left it out. Among the candidates whose mean loss exceeds the lowest by no more than the standard error of that
    difference, the simplest is fitted. Outcome weights are made anew in each draw; moments are those of the sample.
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
            When the chosen one gives no finite fit.
        """
        losses = self._losses(design, cohort, outcome, counts, rng)
        picked = self.options[choose(losses, counts * outcome.weight, [option.rank for option in self.options])]
        return picked.fit(design, cohort, outcome, counts=counts, rng=rng)

    def _losses(
        self, design: Design, cohort: Cohort, outcome: Outcome, counts: Floats, rng: np.random.Generator
    ) -> Floats:
        """(options, n) mean out-of-bag log loss of each child, NaN where it was never left out."""
        total = np.zeros((len(self.options), len(counts)))
        times = np.zeros(len(counts))
        rows = np.repeat(np.arange(len(counts)), counts.astype(np.intp))
        for _ in range(SAMPLES):
            drawn = np.bincount(rng.choice(rows, len(rows)), minlength=len(counts)).astype(np.float64)
            found = self._attempt(design, cohort, drawn, rng)
            if found is not None:
                out = (drawn == 0) & (counts > 0)
                total[:, out] += log_losses(outcome.label[out], found[:, out])
                times += out
        return np.divide(total, times, out=np.full_like(total, np.nan), where=times > 0)

    def _attempt(self, design: Design, cohort: Cohort, drawn: Floats, rng: np.random.Generator) -> Floats | None:
        """(options, n) probabilities of fits to a draw; None where one of them has no finite fit."""
        outcome = at_horizon(cohort, self.protocol, counts=drawn)
        if not 0.0 < float(drawn @ (outcome.weight * outcome.label)) < float(drawn @ outcome.weight):
            return None
        try:
            fits = [option.fit(design, cohort, outcome, counts=drawn, rng=rng) for option in self.options]
        except FitRefused:
            return None
        return np.stack([fit.probability for fit in fits])


def log_losses(y: Floats, probability: Floats) -> Floats:
    """-log of the probability that was given to what happened, elementwise; probabilities of exactly 0 or 1 are cut."""
    held = np.clip(probability, 1e-12, 1.0 - 1e-12)
    losses: Floats = -(y * np.log(held) + (1.0 - y) * np.log1p(-held))
    return losses


def paired_difference(losses: Floats, others: Floats, weights: Floats) -> tuple[float, float]:
    """Weighted mean of losses - others over the children that have both, and its standard error."""
    both = ~(np.isnan(losses) | np.isnan(others)) & (weights > 0.0)
    gap, weight = losses[both] - others[both], weights[both]
    if not len(gap):
        return 0.0, 0.0
    share = weight / weight.sum()
    mean = float(share @ gap)
    return mean, float(np.sqrt(share**2 @ (gap - mean) ** 2))


def choose(losses: Floats, weights: Floats, ranks: list[int]) -> int:
    """Index of the simplest candidate within one standard error of the best, from (options, n) losses."""
    known: NDArray[np.bool_] = ~np.isnan(losses).any(axis=0) & (weights > 0.0)
    means = losses[:, known] @ weights[known] if known.any() else np.zeros(len(losses))
    best = int(np.argmin(means))
    gaps = [paired_difference(held, losses[best], weights) for held in losses]
    near = [i for i, (mean, error) in enumerate(gaps) if mean <= error]
    return min(near, key=lambda i: ranks[i])
