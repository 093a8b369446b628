"""Gradient-boosted trees, tuned and recalibrated by folds of children, to see what the sum of terms costs.

Only compared and reported: nobody can yet say how sure one of their numbers is.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logit
from sklearn.ensemble import HistGradientBoostingClassifier
from threadpoolctl import threadpool_limits

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.candidates.base import FitLog, Fitted
from training.candidates.folds import folds_of_children
from training.candidates.tree_columns import TreeColumns, tree_columns
from training.cohort import Cohort
from training.features import Design
from training.metrics.calibration import LEAST_SPREAD, fit_line
from training.outcome import Outcome

LEARNING_RATES = (0.05, 0.1)
ROUNDS = (5, 10, 20, 40)
FOLDS = 5
FEWEST_IN_LEAF = 20
FEWEST_EVENTS = 20
ENOUGH_REPLAYS = 50


@dataclass(frozen=True, slots=True)
class GrownTrees:
    """Trees as grown: log-odds are `intercept` + `slope` * score, the score being the trees' own log-odds."""

    model: HistGradientBoostingClassifier
    columns: TreeColumns
    learning_rate: float
    rounds: int
    intercept: float
    slope: float

    @property
    def log_odds(self) -> Floats:
        """(n,) of all children."""
        score: Floats = self.model.decision_function(self.columns.values)
        return self.intercept + self.slope * score


@dataclass(frozen=True, slots=True)
class BoostedTrees:
    """Boosted trees, monotone where the dictionary says so; `interactions` lets one branch ask about several columns.

    Rounds and learning rate come from a small grid by folds of children, all copies of a child in one fold; so do the
    scores that they are recalibrated on, with a slope between 0 and 1. A leaf holds at least 20 children, a child
    drawn twice counting once.
    """

    name: str
    rank: int
    interactions: bool
    most_replays: int | None = ENOUGH_REPLAYS

    def lacking(self, outcome: Outcome) -> str | None:
        """Too few events to tune on."""
        fewest = min(outcome.events, outcome.non_events)
        if fewest >= FEWEST_EVENTS:
            return None
        return (
            f"boosted trees need at least {FEWEST_EVENTS} known events and as many known non-events to be tuned by "
            f"folds of children: found {outcome.events} and {outcome.non_events}"
        )

    def warmed(self, fitted: Fitted) -> "BoostedTrees":
        """The same: trees grow from nothing each time."""
        return self

    def fit(
        self, design: Design, cohort: Cohort, outcome: Outcome, *, counts: Floats, rng: np.random.Generator
    ) -> Fitted:
        """Grow and recalibrate on the sample.

        Raises
        ------
        FitRefused
            When a fold would hold no event, or nothing but events.
        """
        grown = self.grow(design, cohort, outcome, counts=counts, rng=rng)
        return Fitted(self.name, expit(grown.log_odds), FitLog(grown.rounds))

    def grow(
        self, design: Design, cohort: Cohort, outcome: Outcome, *, counts: Floats, rng: np.random.Generator
    ) -> GrownTrees:
        """The trees themselves, for explanations.

        Raises
        ------
        FitRefused
            As `fit`.
        """
        columns = tree_columns(cohort.cases, cohort.dictionary, design)
        weights = counts * outcome.weight
        rows = np.flatnonzero(weights > 0.0)
        sample = _Sample(columns.values[rows], outcome.label[rows], weights[rows], columns.directions)
        # One thread: sums in a fixed order give the same trees everywhere.
        with threadpool_limits(limits=1):
            learning_rate, rounds, scores = self._tuned(sample, folds_of_children(sample.y, rng, count=FOLDS))
            model = self._model(sample, learning_rate, rounds).fit(sample.columns, sample.y, sample.weights)
        intercept, slope = recalibration(sample.y, sample.weights, scores)
        return GrownTrees(model, columns, learning_rate, rounds, intercept, slope)

    def _tuned(self, sample: "_Sample", folds: NDArray[np.intp]) -> tuple[float, int, Floats]:
        """Learning rate and rounds of the lowest out-of-fold log loss, and the out-of-fold scores there."""
        tried = [
            (_log_loss(sample, scores), learning_rate, rounds, scores)
            for learning_rate in LEARNING_RATES
            for rounds, scores in zip(ROUNDS, self._out_of_fold(sample, folds, learning_rate), strict=True)
        ]
        _, learning_rate, rounds, scores = min(tried, key=lambda held: held[0])
        return learning_rate, rounds, scores

    def _out_of_fold(self, sample: "_Sample", folds: NDArray[np.intp], learning_rate: float) -> Floats:
        """(rounds, n) scores of each child by trees grown without its fold."""
        scores = np.empty((len(ROUNDS), len(sample.y)))
        for fold in range(FOLDS):
            out = folds == fold
            rest = sample.take(~out)
            model = self._model(sample, learning_rate, ROUNDS[-1]).fit(rest.columns, rest.y, rest.weights)
            stages = list(model.staged_decision_function(sample.columns[out]))
            scores[:, out] = [stages[rounds - 1] for rounds in ROUNDS]
        return scores

    def _model(self, sample: "_Sample", learning_rate: float, rounds: int) -> HistGradientBoostingClassifier:
        return HistGradientBoostingClassifier(
            learning_rate=learning_rate,
            max_iter=rounds,
            min_samples_leaf=FEWEST_IN_LEAF,
            monotonic_cst=list(sample.directions),
            interaction_cst=None if self.interactions else "no_interactions",
            early_stopping=False,
            random_state=0,
        )


@dataclass(frozen=True, slots=True)
class _Sample:
    """Children of known outcome in the sample, each once: (m, k) columns, (m,) labels and weights."""

    columns: Floats
    y: Floats
    weights: Floats
    directions: tuple[int, ...]

    def take(self, rows: NDArray[np.bool_]) -> "_Sample":
        return _Sample(self.columns[rows], self.y[rows], self.weights[rows], self.directions)


def _log_loss(sample: _Sample, scores: Floats) -> float:
    losses = np.logaddexp(0.0, scores) - sample.y * scores
    return float(sample.weights @ losses) / float(sample.weights.sum())


def recalibration(y: Floats, weights: Floats, scores: Floats) -> tuple[float, float]:
    """Intercept and slope that put out-of-fold scores on the scale of the outcomes, the slope held to [0, 1].

    On the scores of the children that the trees were grown on the slope would come out above 1, and make it worse.
    """
    rate = float(weights @ y) / float(weights.sum())
    free = fit_line(y, weights, scores, slope_free=True) if scores.std() > LEAST_SPREAD else None
    slope = 0.0 if free is None else min(1.0, max(0.0, free.slope))
    if slope == 0.0:
        return float(logit(rate)), 0.0
    held = fit_line(y, weights, slope * scores, slope_free=False)
    return (float(logit(rate)), 0.0) if held is None else (held.intercept, slope)
