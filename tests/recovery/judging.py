"""The numbers of one repeat: intervals against the truth, errors, discrimination, all over the tested children."""

from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray
from sklearn.linear_model import LogisticRegressionCV
from sklearn.metrics import roc_auc_score

from riskmodel.bundle import Bundle
from riskmodel.cases.table import CaseTable, Floats
from riskmodel.model import LEVEL
from riskmodel.scoring import Scorer
from tests.recovery.ground import expected_fit
from training.fitting import Trained

ON: Final = date(2026, 12, 1)
TENTHS: Final = 10
FLAT_SD: Final = 0.1  # below this spread of the log-odds no slope is asked for


@dataclass(frozen=True, slots=True)
class Shown:
    """What a bundle shows of n children: `rows` (n,) which are shown; the others are left out of the arrays."""

    rows: NDArray[np.bool_]
    risk: Floats
    low: Floats
    high: Floats

    def among(self, chosen: NDArray[np.bool_]) -> "Shown":
        """What is shown of some of the children; `chosen` (n,) of them all, each of whom is shown."""
        part = chosen[self.rows]
        return Shown(chosen, self.risk[part], self.low[part], self.high[part])

    @property
    def width(self) -> float:
        """Mean width of the interval."""
        return float((self.high - self.low).mean())


def shown(bundle: Bundle, cases: CaseTable) -> Shown:
    """What the bundle shows, through the runtime."""
    early = {name: held for name, held in cases.columns.items() if name not in bundle.gates.known_later}
    held = Scorer(bundle).arrays(CaseTable(cases.keys, early), on=ON)
    return Shown(held.shown, *(part[held.shown] for part in (held.probability, held.low, held.high)))


def covered(seen: Shown, truth: Floats) -> NDArray[np.bool_]:
    """(n,) whether the interval holds the truth."""
    return (seen.low <= truth) & (truth <= seen.high)


def interval_score(seen: Shown, truth: Floats) -> float:
    """Mean width, plus 2/alpha times the distance of each truth missed (Gneiting and Raftery 2007, eq. 43)."""
    missed = np.maximum(seen.low - truth, 0.0) + np.maximum(truth - seen.high, 0.0)
    return seen.width + float(2.0 / (1.0 - LEVEL) * missed.mean())


def by_tenth(held: NDArray[np.bool_], order: Floats) -> Floats:
    """(10,) mean by tenth of `order`; ties stay in the order of the children."""
    return np.array([held[part].mean() for part in np.array_split(np.argsort(order, kind="stable"), TENTHS)])


def error(risk: Floats, truth: Floats) -> float:
    """Mean absolute error."""
    return float(np.abs(risk - truth).mean())


def true_c(score: Floats, truth: Floats) -> float:
    """The c-statistic that a very large sample of such children would give; 0.5 for a constant score."""
    label = np.repeat([1, 0], len(truth))
    return float(roc_auc_score(label, np.tile(score, 2), sample_weight=np.concatenate([truth, 1.0 - truth])))


def true_slope(log_odds: Floats, truth: Floats) -> float | None:
    """The calibration slope that a very large sample would give; None where the model hardly tells children apart."""
    if log_odds.std() < FLAT_SD:
        return None
    return float(expected_fit(log_odds[:, None], truth).coef_[0, 0])


def model_log_odds(bundle: Bundle, columns: Floats) -> Floats:
    """(n,) log-odds of the sum of terms, whether or not it is shown."""
    return bundle.intercept + columns @ bundle.coefficients


def expected_columns(bundle: Bundle, cases: CaseTable) -> Floats:
    """(n, C) columns of the cases, completed as the model completes them."""
    return Scorer(bundle).model.recipe.expected(cases)


def cross_validated(trained: Trained, columns: Floats) -> Floats:
    """(n,) risks by scikit-learn's ridge, C by tenfold log loss, on the same completed matrix and weights.

    As many folds as there are events where these are fewer than ten: a fold without an event has no log loss.
    """
    known = trained.outcome.known
    folds = min(10, trained.outcome.events, trained.outcome.non_events)
    search = {"Cs": 20, "cv": folds, "scoring": "neg_log_loss", "solver": "newton-cholesky", "max_iter": 1_000}
    model = LogisticRegressionCV(**search, l1_ratios=(0.0,), use_legacy_attributes=False)
    model.fit(trained.design.columns[known], trained.outcome.label[known], sample_weight=trained.outcome.weight[known])
    return np.asarray(model.predict_proba(columns)[:, 1])


def spread(log_odds: Floats) -> float:
    """SD of the log-odds over the children."""
    return float(log_odds.std())
