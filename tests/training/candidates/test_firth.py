"""Bias-reduced logistic regression against other software, and against the rules of scikit-learn estimators."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from firthmodels import FirthLogisticRegression
from sklearn.linear_model import LogisticRegression
from sklearn.utils.estimator_checks import parametrize_with_checks

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from tests.reference import kyphosis, reference
from training.candidates.firth import FirthLogistic, _State

VALUES = reference("b1_firth")
SETS = ("kyphosis", "separated", "separated_x1_only")


def data(name: str) -> tuple[Floats, Floats, Any]:
    """Columns, outcome, and what R says."""
    values = VALUES[name]
    if name == "kyphosis":
        return *kyphosis(), values
    held = values["data"]
    columns = np.array([held[key] for key in held if key != "y"]).T
    return columns, np.array(held["y"], dtype=np.float64), values


@parametrize_with_checks([FirthLogistic(), FirthLogistic(flic=False)])
def test_keeps_the_rules_of_scikit_learn(estimator: FirthLogistic, check: Callable[[object], None]) -> None:
    check(estimator)


@pytest.mark.parametrize("name", SETS)
def test_coefficients_equal_brglm2(name: str) -> None:
    # source: R 4.2.2, brglm2 0.9, glm(method = "brglmFit", type = "AS_mean"); two of the sets are separated
    columns, y, values = data(name)
    expected = values["AS_mean"]
    found = FirthLogistic(flic=False).fit(columns, y)
    assert [found.intercept_[0], *found.coef_[0]] == pytest.approx(list(expected["coef"].values()), abs=1e-8)
    assert found.predict_proba(columns)[:, 1] == pytest.approx(expected["p"], abs=1e-8)
    assert np.sqrt(found.covariance_.diagonal()) == pytest.approx(list(expected["se"].values()), abs=1e-7)
    assert found.covariance_ == pytest.approx(np.array(expected["vcov"]), abs=1e-6)


@pytest.mark.parametrize("name", SETS)
def test_flic_intercept_equals_r(name: str) -> None:
    # source: R 4.2.2, glm with Firth's linear predictor as offset; formula of Puhr et al. 2017 from memory
    columns, y, values = data(name)
    found = FirthLogistic().fit(columns, y)
    assert found.intercept_[0] == pytest.approx(values["FLIC"]["intercept"], abs=1e-8)
    assert found.predict_proba(columns)[:, 1].mean() == pytest.approx(y.mean(), abs=1e-10)
    assert found.coef_.tolist() == FirthLogistic(flic=False).fit(columns, y).coef_.tolist()


def test_equals_another_implementation_on_drawn_data() -> None:
    # source: firthmodels 0.8, FirthLogisticRegression with tight tolerances
    rng = np.random.default_rng(4)
    columns = rng.normal(size=(60, 5)) * [1, 2, 0.5, 1, 1]
    y = (rng.random(60) < 0.2).astype(float)
    expected = FirthLogisticRegression(gtol=1e-10, xtol=1e-10, max_iter=500).fit(columns, y)
    found = FirthLogistic(flic=False).fit(columns, y)
    assert found.coef_[0] == pytest.approx(expected.coef_, abs=1e-8)
    assert found.intercept_[0] == pytest.approx(expected.intercept_, abs=1e-7)


@pytest.mark.parametrize("flic", [True, False])
def test_weights_are_repeated_rows(flic: bool) -> None:
    columns, y = kyphosis()
    counts = np.random.default_rng(1).integers(0, 4, len(y))
    weighted = FirthLogistic(flic=flic).fit(columns, y, counts)
    repeated = FirthLogistic(flic=flic).fit(np.repeat(columns, counts, axis=0), np.repeat(y, counts))
    assert weighted.coef_ == pytest.approx(repeated.coef_, abs=1e-10)
    assert weighted.intercept_ == pytest.approx(repeated.intercept_, abs=1e-10)
    assert weighted.covariance_ == pytest.approx(repeated.covariance_, abs=1e-10)


def test_flic_gives_the_weighted_rate() -> None:
    columns, y = kyphosis()
    weights = np.random.default_rng(2).uniform(0.5, 2, len(y))
    found = FirthLogistic().fit(columns, y, weights).predict_proba(columns)[:, 1]
    assert weights @ found / weights.sum() == pytest.approx(weights @ y / weights.sum(), abs=1e-10)


def test_one_yes_no_column_adds_half_a_child_to_each_cell() -> None:
    # source: Firth 1993; with as many coefficients as groups Jeffreys' prior adds 1/2 to each cell of the table
    columns = np.repeat([0.0, 1.0], [12, 5])[:, np.newaxis]
    y = np.concatenate([np.arange(12) < 3, np.arange(5) < 5]).astype(float)
    found = FirthLogistic(flic=False).fit(columns, y).predict_proba([[0.0], [1.0]])[:, 1]
    assert found == pytest.approx([3.5 / 13, 5.5 / 6], abs=1e-9)


def test_derivatives_are_those_of_the_penalised_likelihood() -> None:
    rng = np.random.default_rng(3)
    columns = np.column_stack((np.ones(40), rng.normal(size=(40, 3))))
    y, weights, theta = (rng.random(40) < 0.3).astype(float), rng.uniform(0.5, 2, 40), rng.normal(size=4)
    here, width = _State.at(theta, columns, y, weights), 1e-5
    for i, direction in enumerate(width * np.eye(4)):
        above, below = (_State.at(theta + sign * direction, columns, y, weights) for sign in (1, -1))
        assert here.score[i] == pytest.approx((above.likelihood - below.likelihood) / (2 * width), abs=1e-7)
        assert here.curvature[i] == pytest.approx((below.score - above.score) / (2 * width), abs=1e-7)


def test_units_do_not_change_predictions() -> None:
    columns, y = kyphosis()
    here = FirthLogistic().fit(columns, y).predict_proba(columns)
    there = FirthLogistic().fit(columns * [1e6, 1e-6, -3] + [5, -1e-4, 7], y)
    assert there.predict_proba(columns * [1e6, 1e-6, -3] + [5, -1e-4, 7]) == pytest.approx(here, abs=1e-8)


def test_a_column_given_twice_and_a_constant_one_change_no_prediction() -> None:
    columns, y = kyphosis()
    plain = FirthLogistic().fit(columns, y)
    more = np.column_stack((columns, columns[:, 0], np.full(len(y), 4.2)))
    found = FirthLogistic().fit(more, y)
    assert found.predict_proba(more) == pytest.approx(plain.predict_proba(columns), abs=1e-9)
    assert found.coef_[0, [0, 3]] == pytest.approx([plain.coef_[0, 0] / 2] * 2, abs=1e-9)
    assert found.coef_[0, 4] == 0


def test_nears_maximum_likelihood_as_the_data_grow() -> None:
    # source: scikit-learn, LogisticRegression(C = inf)
    columns, y = kyphosis()
    weights = np.full(len(y), 10_000.0)
    likelihood = LogisticRegression(C=np.inf, solver="newton-cholesky", tol=1e-10).fit(columns, y)
    found = FirthLogistic(flic=False).fit(columns, y, weights)
    assert found.coef_ == pytest.approx(likelihood.coef_, abs=1e-4)


def test_refusals_say_what_must_hold() -> None:
    columns, y = kyphosis()
    with pytest.raises(ValueError, match="y must hold 2 classes, found one class"):
        FirthLogistic().fit(columns, y, y)
    with pytest.raises(ValueError, match="y must hold 2 classes, found 3 classes"):
        FirthLogistic().fit(columns, np.arange(len(y)) % 3)
    with pytest.raises(FitRefused, match="must come to rest within 2 steps"):
        FirthLogistic(max_iter=2).fit(columns, y)
