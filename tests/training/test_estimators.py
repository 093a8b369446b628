"""The penalised logistic regression against other software, and against the rules of scikit-learn estimators."""

from collections.abc import Callable

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression
from sklearn.utils.estimator_checks import parametrize_with_checks

from riskmodel.errors import FitRefused
from riskmodel.terms import spline
from tests.reference import kyphosis, reference
from training.estimators import PenalisedLogistic

NAMES = ("Age", "Number", "Start")


@parametrize_with_checks([PenalisedLogistic(), PenalisedLogistic(scale=0.7)])
def test_keeps_the_rules_of_scikit_learn(estimator: PenalisedLogistic, check: Callable[[object], None]) -> None:
    check(estimator)


def test_flat_priors_give_maximum_likelihood() -> None:
    """Source: stats::glm on the kyphosis data (a1)."""
    columns, y = kyphosis()
    expected = reference("a1_kyphosis_glm")
    fitted = PenalisedLogistic(scale="flat").fit(columns, y)
    found = [fitted.intercept_[0], *fitted.coef_[0]]
    assert found == pytest.approx(list(expected["coef"].values()), abs=1e-8)
    assert fitted.decision_function(columns) == pytest.approx(expected["lp"], abs=1e-8)


@pytest.mark.parametrize("penalty", ["0.5", "1", "3", "10", "30"])
def test_fixed_penalties_equal_rms(penalty: str) -> None:
    """Source: rms::lrm with a quadratic penalty on columns standardised by their sample SD, n - 1 (a3)."""
    columns, y = kyphosis()
    expected = reference("a3_kyphosis_ridge")["fits"][penalty]["coef_newton"]
    fitted = PenalisedLogistic(scale=float(penalty) ** -0.5, standardise="sample").fit(columns, y)
    assert [fitted.intercept_[0], *fitted.coef_[0]] == pytest.approx(list(expected.values()), abs=1e-8)


def test_ridge_equals_glmnet() -> None:
    """Source: glmnet, alpha = 0; its lambda is the penalty of rms over n - 1 (a4)."""
    columns, y = kyphosis()
    for row in reference("a4_kyphosis_glmnet")["ridge"]:
        scale = (row["lambda"] * (len(y) - 1)) ** -0.5
        fitted = PenalisedLogistic(scale=scale, standardise="sample").fit(columns, y)
        expected = list(row["coef_newton"].values())
        assert [fitted.intercept_[0], *fitted.coef_[0]] == pytest.approx(expected, abs=1e-8)


def test_splines_equal_rms() -> None:
    """Source: rms::lrm with rcs at the same knots (a2): the fit does not depend on how the spline is written."""
    columns, y = kyphosis()
    expected = reference("a2_kyphosis_rcs")
    knots = expected["knots"]
    blocks = [
        _spline(columns[:, 0], knots["Age"]),
        columns[:, 1:2],
        _spline(columns[:, 2], knots["Start"]),
    ]
    design = np.hstack(blocks)
    fitted = PenalisedLogistic(scale="flat").fit(design, y)
    assert fitted.predict_proba(design)[:, 1] == pytest.approx(expected["p"], abs=1e-7)


def _spline(x: np.ndarray, knots: list[float]) -> np.ndarray:
    from riskmodel.cases.table import column

    basis = spline(knots, np.linspace(x.min(), x.max(), 50), centre=float(x.mean()), scale=1.0, clip=None)
    return basis.columns(column(x))


def test_cross_validation_equals_glm() -> None:
    """Source: stats::glm refitted in ten saved folds, and with each child left out (a7)."""
    columns, y = kyphosis()
    expected = reference("a7_kyphosis_cv_fixed")
    folds = np.array(expected["fold_1to10"])
    assert _out_of_fold(columns, y, folds) == pytest.approx(expected["p_out_of_fold"], abs=1e-8)
    assert _out_of_fold(columns, y, np.arange(len(y))) == pytest.approx(expected["loo_p"], abs=1e-8)


def _out_of_fold(columns: np.ndarray, y: np.ndarray, folds: np.ndarray) -> np.ndarray:
    out = np.empty(len(y))
    for fold in np.unique(folds):
        held = folds == fold
        out[held] = PenalisedLogistic(scale="flat").fit(columns[~held], y[~held]).predict_proba(columns[held])[:, 1]
    return out


def test_a_fixed_scale_equals_scikit_learn() -> None:
    """Source: scikit-learn LogisticRegression, newton-cholesky; C = scale squared for columns of unit scale."""
    columns, y = kyphosis()
    design = (columns - columns.mean(axis=0)) / np.array([10.0, 1.0, 3.0])
    peer = LogisticRegression(C=0.6**2, solver="newton-cholesky", tol=1e-12).fit(design, y)
    fitted = PenalisedLogistic(scale=0.6).fit(design, y)
    assert fitted.coef_ == pytest.approx(peer.coef_, abs=1e-8)
    assert fitted.intercept_ == pytest.approx(peer.intercept_, abs=1e-8)


def test_prior_means_and_sds_move_the_coefficient_as_they_should() -> None:
    columns, y = kyphosis()
    sure = PenalisedLogistic(prior_mean=[0.0, 0.9, 0.0], prior_sd=[np.nan, 1e-6, np.nan]).fit(columns, y)
    assert sure.coef_[0, 1] == pytest.approx(0.9, abs=1e-6)
    vague = PenalisedLogistic(scale="flat", prior_mean=[0.0, 0.9, 0.0], prior_sd=[np.nan, 1e6, np.nan])
    flat = PenalisedLogistic(scale="flat").fit(columns, y)
    assert vague.fit(columns, y).coef_ == pytest.approx(flat.coef_, abs=1e-6)


def test_separation_is_refused_in_words() -> None:
    columns = np.arange(20.0)[:, None]
    with pytest.raises(FitRefused, match='separated from the rest by the predictors: use scale = "evidence"'):
        PenalisedLogistic(scale="flat").fit(columns, columns[:, 0] > 9)
    PenalisedLogistic().fit(columns, columns[:, 0] > 9)


def test_sample_standardising_needs_a_fixed_scale() -> None:
    columns, y = kyphosis()
    with pytest.raises(ValueError, match="needs a fixed scale"):
        PenalisedLogistic(standardise="sample").fit(columns, y)
