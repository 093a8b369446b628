"""The penalised logistic regression as a scikit-learn estimator, for use and for comparison outside the pipeline."""

from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from sklearn.base import BaseEstimator, ClassifierMixin
from sklearn.utils.multiclass import check_classification_targets
from sklearn.utils.validation import _check_sample_weight, check_is_fitted, validate_data

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.posterior import LEVEL, NUMBER, ColumnPriors, posterior


class PenalisedLogistic(ClassifierMixin, BaseEstimator):  # type: ignore[misc]
    """Logistic regression with Gaussian priors whose two scales are learned by evidence.

    Parameters
    ----------
    scale : "evidence", "flat" (maximum likelihood), or the prior SD of every column
    prior_mean : (C,) prior means; None for zeros
    prior_sd : (C,) prior SDs, NaN where the scale is to be used; None for all NaN
    level_columns : indices of the columns that share the second scale (yes/no and level columns)
    standardise : "declared" takes the columns as they are; "sample" divides each prior SD by the column's sample SD
        (n - 1, unweighted), as software that standardises first does. Only to meet such software: a rare column is
        then shrunk least

    Attributes
    ----------
    coef_ : (1, C); intercept_ : (1,); classes_ : (2,); scales_ : (2,) mean of the scales; n_iter_ : Newton steps

    Notes
    -----
    Weights are taken as given: a weight of 2 is the row twice. See `training.posterior.posterior`.
    """

    def __init__(
        self,
        *,
        scale: str | float = "evidence",
        prior_mean: ArrayLike | None = None,
        prior_sd: ArrayLike | None = None,
        level_columns: tuple[int, ...] = (),
        standardise: str = "declared",
    ) -> None:
        self.scale = scale
        self.prior_mean = prior_mean
        self.prior_sd = prior_sd
        self.level_columns = level_columns
        self.standardise = standardise

    def fit(self, X: ArrayLike, y: ArrayLike, sample_weight: ArrayLike | None = None) -> Self:
        """Fit to (n, C) columns and n labels of two classes, the later of which is the event.

        Raises
        ------
        ValueError
            When there are not exactly two classes, or the arrays do not fit together.
        FitRefused
            With a flat scale, when events and the rest are separated.
        """
        columns, labels = validate_data(self, X, y, dtype=np.float64)
        check_classification_targets(labels)
        weights = _check_sample_weight(sample_weight, columns, dtype=np.float64, ensure_non_negative=True)
        self.classes_, event = np.unique(labels, return_inverse=True)
        used = np.unique(event[weights > 0])
        if len(self.classes_) != 2 or len(used) != 2:
            found = "one class" if len(used) == 1 else f"{len(self.classes_)} classes"
            raise ValueError(f"Only binary classification is supported: y must hold 2 classes, found {found}.")
        means = np.average(columns, axis=0, weights=weights)
        found_posterior = posterior(
            columns - means, event.astype(np.float64), weights, self._priors(columns), scale=self.scale
        )
        mean = found_posterior.mean
        self.coef_ = mean[None, 1:]
        self.intercept_ = mean[:1] - self.coef_ @ means
        self.scales_ = found_posterior.weights @ found_posterior.scales
        self.n_iter_ = found_posterior.steps
        return self

    def _priors(self, columns: Floats) -> ColumnPriors:
        count = columns.shape[1]
        block = np.full(count, NUMBER, dtype=np.int8)
        block[list(self.level_columns)] = LEVEL
        mean = np.zeros(count) if self.prior_mean is None else np.asarray(self.prior_mean, dtype=np.float64)
        sd = np.full(count, np.nan) if self.prior_sd is None else np.asarray(self.prior_sd, dtype=np.float64)
        if self.standardise == "sample":
            if not isinstance(self.scale, float | int):
                raise ValueError('standardise="sample" needs a fixed scale: it is only there to meet fixed penalties')
            sd = float(self.scale) / columns.std(axis=0, ddof=1)
        return ColumnPriors(mean, sd, block)

    def decision_function(self, X: ArrayLike) -> Floats:
        """(n,) log-odds of the event."""
        check_is_fitted(self)
        columns = validate_data(self, X, dtype=np.float64, reset=False)
        log_odds: Floats = columns @ self.coef_[0] + self.intercept_[0]
        return log_odds

    def predict_proba(self, X: ArrayLike) -> Floats:
        """(n, 2) probabilities, the event's second."""
        event = expit(self.decision_function(X))
        return np.column_stack([1.0 - event, event])

    def predict(self, X: ArrayLike) -> NDArray[np.generic]:
        """(n,) the likelier class."""
        check_is_fitted(self)
        picked: NDArray[np.generic] = self.classes_[(self.decision_function(X) > 0.0).astype(np.intp)]
        return picked

    def __sklearn_tags__(self) -> object:
        tags = super().__sklearn_tags__()
        tags.classifier_tags.multi_class = False
        return tags
