"""Bias-reduced logistic regression as a candidate: compared and reported, since it has no posterior to ship."""

from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.candidates.base import FitLog, Fitted
from training.candidates.firth import FirthLogistic
from training.cohort import Cohort
from training.features import Design
from training.outcome import Outcome

ENOUGH_REPLAYS = 100


@dataclass(frozen=True, slots=True)
class BiasReduced:
    """Firth's logistic regression with FLIC on the protocol's columns, without any prior belief.

    A column that too few children carry is left out: its level is then scored by its group.
    """

    name: str = "bias_reduced"
    rank: int = 3
    most_replays: int | None = ENOUGH_REPLAYS

    def lacking(self, outcome: Outcome) -> str | None:
        """Nothing that the fit itself would not say."""
        return None

    def warmed(self, fitted: Fitted) -> "BiasReduced":
        """The same: a cold start takes few steps."""
        return self

    def fit(
        self, design: Design, cohort: Cohort, outcome: Outcome, *, counts: Floats, rng: np.random.Generator
    ) -> Fitted:
        """Fit to the sample; censoring weights and copies count as weights of a row.

        Raises
        ------
        FitRefused
            When the steps do not come to rest.
        """
        weights = counts * outcome.weight
        used = weights > 0.0
        columns = design.columns[:, design.learned]
        model = FirthLogistic().fit(columns[used], outcome.label[used], weights[used])
        coefficients = np.zeros(len(design.learned))
        coefficients[design.learned] = model.coef_[0]
        intercept = float(model.intercept_[0])
        return Fitted(
            name=self.name,
            probability=expit(intercept + design.columns @ coefficients),
            log=FitLog(model.n_iter_),
            intercept=intercept,
            coefficients=coefficients,
        )
