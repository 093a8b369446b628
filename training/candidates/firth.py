"""Bias-reduced logistic regression (Firth) whose mean prediction is the rate (FLIC), as a scikit-learn estimator."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import cho_factor, cho_solve, solve_triangular
from scipy.special import expit
from sklearn.base import BaseEstimator, ClassifierMixin
from sklearn.utils.multiclass import check_classification_targets
from sklearn.utils.validation import _check_sample_weight, check_is_fitted, validate_data

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.metrics.calibration import fit_line

LONGEST_CHANGE = 5.0  # of any log-odds in one step
MOST_HALVINGS = 30
ROWS_AT_ONCE = 4096
SINGULAR = 1e-10  # share of the largest singular value below which a direction of the columns is none


class FirthLogistic(ClassifierMixin, BaseEstimator):
    """Logistic regression penalised by Jeffreys' prior: finite under separation, and nearly unbiased coefficients.

    Parameters
    ----------
    flic
        True replaces the intercept so that the mean prediction equals the weighted rate; without it predictions are
        pulled towards one half.
    tolerance
        Largest change of a log-odds in the last step.
    max_iter
        Most Newton steps.

    Attributes
    ----------
    coef_, intercept_
        (1, C) and (1,), log-odds of the second class.
    covariance_
        (1 + C, 1 + C) inverse information of Firth's fit, intercept first (before FLIC replaced it).
    classes_, n_iter_
        (2,) and the number of steps.

    Notes
    -----
    Maximises l + log|X'WX| / 2, W = w p (1 - p): score X'(w (y - p) + h (1/2 - p)) with h the diagonal of the weighted
    hat matrix W X (X'WX)^-1 X'; a weight of 2 is the row twice (Firth 1993; Heinze & Schemper 2002). FLIC: Puhr et
    al., Statistics in Medicine 2017;36:2302. Columns that depend on one another share the smallest coefficients that
    give the same predictions; a constant column gets 0.
    """

    def __init__(self, *, flic: bool = True, tolerance: float = 1e-10, max_iter: int = 100) -> None:
        self.flic = flic
        self.tolerance = tolerance
        self.max_iter = max_iter

    def fit(self, X: ArrayLike, y: ArrayLike, sample_weight: ArrayLike | None = None) -> Self:
        """Fit to (n, C) columns and n labels of two classes, the later of which is the event.

        Raises
        ------
        ValueError
            When the rows with weight do not hold exactly two classes, or the arrays do not fit together.
        FitRefused
            When the steps do not come to rest.
        """
        columns, labels = validate_data(self, X, y, dtype=np.float64)
        check_classification_targets(labels)
        weights = _check_sample_weight(sample_weight, columns, dtype=np.float64, ensure_non_negative=True)
        self.classes_, event = np.unique(labels, return_inverse=True)
        used = weights > 0
        _refuse_classes(len(self.classes_), len(np.unique(event[used])))
        self._fit_used(columns[used], event[used].astype(np.float64), weights[used])
        return self

    def _fit_used(self, columns: Floats, y: Floats, weights: Floats) -> None:
        """Fit to the rows that have a weight."""
        basis = _basis(columns, weights)
        theta, information, self.n_iter_ = _maximise(basis.columns, y, weights, self.tolerance, self.max_iter)
        back = basis.back()
        firth = back @ theta
        self.covariance_ = back @ np.linalg.inv(information) @ back.T
        self.coef_ = firth[np.newaxis, 1:]
        without = basis.columns[:, 1:] @ theta[1:]
        self.intercept_ = firth[:1] + (_flic(y, weights, without) - theta[0] if self.flic else 0.0)

    def decision_function(self, X: ArrayLike) -> Floats:
        """Return (n,) log-odds of the event.

        Raises
        ------
        NotFittedError
            Before `fit`.
        """
        check_is_fitted(self)
        columns = validate_data(self, X, dtype=np.float64, reset=False)
        log_odds: Floats = columns @ self.coef_[0] + self.intercept_[0]
        return log_odds

    def predict_proba(self, X: ArrayLike) -> Floats:
        """Return (n, 2) probabilities, the event's second.

        Raises
        ------
        NotFittedError
            Before `fit`.
        """
        log_odds = self.decision_function(X)
        return np.column_stack([expit(-log_odds), expit(log_odds)])

    def predict(self, X: ArrayLike) -> NDArray[np.generic]:
        """Return (n,) the likelier class.

        Raises
        ------
        NotFittedError
            Before `fit`.
        """
        log_odds = self.decision_function(X)
        likelier: NDArray[np.generic] = self.classes_[(log_odds > 0).astype(np.intp)]
        return likelier

    def __sklearn_tags__(self) -> object:
        tags = super().__sklearn_tags__()
        tags.classifier_tags.multi_class = False
        return tags


@dataclass(frozen=True, slots=True, eq=False)
class _Basis:
    """The columns in coordinates in which they are uncorrelated: (n, 1 + r) with the intercept first, and the way back.

    Source columns are (columns - mean) / sd, `turn` (C, r) gives the uncorrelated ones.
    """

    columns: Floats
    mean: Floats
    sd: Floats
    turn: Floats

    def back(self) -> Floats:
        """Return (1 + C, 1 + r): coefficients of the source columns from those of the basis."""
        slopes = self.turn / self.sd[:, np.newaxis]
        full = np.zeros((1 + len(self.mean), 1 + self.turn.shape[1]))
        full[0, 0] = 1
        full[0, 1:] = -self.mean @ slopes
        full[1:, 1:] = slopes
        return full


def _basis(columns: Floats, weights: Floats) -> _Basis:
    """Return uncorrelated columns of weighted variance 1 that span the same predictions."""
    share = weights / weights.sum()
    mean = share @ columns
    away = columns - mean
    sd = np.sqrt(share @ away**2)
    sd[sd <= SINGULAR * np.abs(mean)] = np.inf  # a constant column, but for rounding
    scaled = away / sd
    _, singular, turned = np.linalg.svd(np.sqrt(share)[:, np.newaxis] * scaled, full_matrices=False)
    kept = singular > SINGULAR * max(1.0, singular.max(initial=0.0))
    turn = turned[kept].T / singular[kept]
    return _Basis(np.column_stack((np.ones(len(columns)), scaled @ turn)), mean, sd, turn)


def _maximise(
    columns: Floats, y: Floats, weights: Floats, tolerance: float, max_iter: int
) -> tuple[Floats, Floats, int]:
    """Return the coefficients that maximise the penalised likelihood, the information there, the number of steps.

    Raises
    ------
    FitRefused
        When the last of `max_iter` steps still changed a log-odds by more than the tolerance.
    """
    theta = np.zeros(columns.shape[1])
    here, change = _State.at(theta, columns, y, weights), np.inf
    for count in range(1, max_iter + 1):
        step = here.step()
        change = float(np.abs(columns @ step).max())
        if change < tolerance:
            return theta + step, here.information, count
        step *= min(1.0, LONGEST_CHANGE / change)
        theta, here = _ascend(theta, step, here, columns, y, weights)
    raise FitRefused(
        f"bias-reduced logistic regression must come to rest within {max_iter} steps: the last step still changed a "
        f"log-odds by {change:.2g}; accepted: below {tolerance:g}"
    )


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """Penalised log-likelihood, its gradient and minus its second derivatives, and the information, at a point."""

    likelihood: float
    score: Floats
    curvature: Floats
    information: Floats

    @classmethod
    def at(cls, theta: Floats, columns: Floats, y: Floats, weights: Floats) -> "_State":
        """Return the state at coefficients theta (1 + r,).

        With pi = p (1 - p), v = w pi, L L' = X'VX, z = L^-1 x and h = v |z|^2 the leverage, minus the second
        derivative is X' diag(v - h (1 - 6 pi) / 2) X + M / 2, where M is made by `_pairs` of z and v (1 - 2 p) x.
        """
        log_odds = columns @ theta
        p = expit(log_odds)
        spread = p * expit(-log_odds)
        v = weights * spread
        information = columns.T @ (v[:, np.newaxis] * columns)
        factor = np.linalg.cholesky(information)
        z = solve_triangular(factor, columns.T, lower=True)
        leverage = v * (z**2).sum(axis=0)
        lean = (v * (1 - 2 * p))[:, np.newaxis] * columns
        bent = v - leverage * (1 - 6 * spread) / 2
        return cls(
            likelihood=float(weights @ (y * log_odds - np.logaddexp(0, log_odds)) + np.log(factor.diagonal()).sum()),
            score=columns.T @ (weights * (y - p) + leverage * (0.5 - p)),
            curvature=columns.T @ (bent[:, np.newaxis] * columns) + _pairs(z, lean) / 2,
            information=information,
        )

    def step(self) -> Floats:
        """Return the Newton step; the scoring step where the penalised likelihood is not concave."""
        try:
            found: Floats = cho_solve(cho_factor(self.curvature), self.score)
        except np.linalg.LinAlgError:
            found = cho_solve(cho_factor(self.information), self.score)
        return found


def _pairs(z: Floats, lean: Floats) -> Floats:
    """Return the sum over all rows i, j of (z_i' z_j)^2 lean_i outer lean_j, in time linear in the rows.

    (z_i' z_j)^2 is the inner product of z_i outer z_i with z_j outer z_j, whose two halves are alike.
    """
    first, second = np.triu_indices(len(z))
    folded = np.zeros((len(first), lean.shape[1]))
    for start in range(0, len(lean), ROWS_AT_ONCE):
        rows = slice(start, start + ROWS_AT_ONCE)
        folded += (z[first, rows] * z[second, rows]) @ lean[rows]
    twice = np.where(first == second, 1.0, 2.0)
    total: Floats = folded.T @ (twice[:, np.newaxis] * folded)
    return total


def _ascend(
    theta: Floats, step: Floats, here: _State, columns: Floats, y: Floats, weights: Floats
) -> tuple[Floats, _State]:
    """Take the step, halved until the penalised likelihood does not fall; no step if that never happens."""
    slack = 1e-12 * (1 + abs(here.likelihood))  # rounding
    for _ in range(MOST_HALVINGS):
        try:
            there = _State.at(theta + step, columns, y, weights)
        except np.linalg.LinAlgError:  # so far out that every fitted probability is 0 or 1
            there = here
        if there is not here and there.likelihood >= here.likelihood - slack:
            return theta + step, there
        step = step / 2
    return theta, here


def _flic(y: Floats, weights: Floats, log_odds: Floats) -> float:
    """Return the intercept with which the mean of expit(intercept + log_odds) is the weighted rate."""
    fit = fit_line(y, weights, log_odds, slope_free=False)
    if fit is None:
        raise FitRefused("no intercept was found with which the mean prediction equals the rate")
    return fit.intercept


def _refuse_classes(known: int, used: int) -> None:
    if known != 2 or used != 2:
        found = "one class" if used == 1 else f"{known} classes"
        raise ValueError(f"Only binary classification is supported: y must hold 2 classes, found {found}.")
