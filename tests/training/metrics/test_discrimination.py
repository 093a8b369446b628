import numpy as np
import pytest
from sklearn.metrics import roc_auc_score

from tests.training.metrics.cases import EXTERNAL, censored, external, invented
from training.metrics.discrimination import c_statistic, delong_interval
from training.metrics.sample import NO_EVENT, check


@pytest.mark.parametrize("name", EXTERNAL)
def test_c_and_delong_equal_proc(name: str) -> None:
    # source: R 4.2.2, pROC 1.18.0, ci.auc(roc(y, p), method = "delong"), which cuts to [0, 1] as well
    y_obs, y_prob, expected = external(name)
    found = delong_interval(y_obs, y_prob)
    assert found.c.value == pytest.approx(expected["auc"]["auc"], abs=1e-12)
    assert found.standard_error.value == pytest.approx(np.sqrt(expected["auc"]["delong_var"]), abs=1e-12)
    assert [found.low.value, found.high.value] == pytest.approx(expected["auc"]["delong_ci95"], abs=1e-8)


def test_c_at_a_horizon_equals_riskregression() -> None:
    # source: riskRegression::Score 2022.11.28, gbsg at 1096 days, cens.model = "km"
    y_obs, y_prob, weights, expected = censored()
    c = c_statistic(check(y_obs, y_prob, weights))
    assert c.value == pytest.approx(expected["Score"]["AUC"]["AUC"], abs=1e-9)


def test_weighted_standard_error_is_close_to_that_which_knows_the_weights_were_estimated() -> None:
    # source: riskRegression::Score 2022.11.28; ours takes the weights as known, hence 5 in 100
    y_obs, y_prob, weights, expected = censored()
    error = delong_interval(y_obs, y_prob, weights).standard_error
    assert error.value == pytest.approx(expected["Score"]["AUC"]["se"], rel=0.05)


@pytest.mark.parametrize("seed", range(5))
def test_weighted_c_equals_scikit_learn_with_ties(seed: int) -> None:
    # source: scikit-learn, roc_auc_score(sample_weight=)
    drawn = invented(seed)
    both = drawn.weights * drawn.counts
    expected = roc_auc_score(drawn.y_obs, drawn.y_prob, sample_weight=both)
    found = c_statistic(check(drawn.y_obs, drawn.y_prob, drawn.weights, drawn.counts))
    assert found.value == pytest.approx(expected, abs=1e-12)


def test_swapping_the_outcome_gives_one_minus_c() -> None:
    drawn = invented(6)
    c = c_statistic(check(drawn.y_obs, drawn.y_prob, drawn.weights))
    swapped = c_statistic(check(1 - drawn.y_obs, drawn.y_prob, drawn.weights))
    assert c.value is not None
    assert swapped.value == pytest.approx(1 - c.value, abs=1e-14)


def test_c_depends_on_the_order_alone() -> None:
    drawn = invented(7)
    c = c_statistic(check(drawn.y_obs, drawn.y_prob, drawn.weights))
    assert c_statistic(check(drawn.y_obs, drawn.y_prob**3, drawn.weights)).value == c.value


def test_limits_perfect_reversed_and_all_alike() -> None:
    y_obs = [0, 0, 1, 1]
    assert c_statistic(check(y_obs, [0.1, 0.2, 0.3, 0.4])).value == 1
    assert c_statistic(check(y_obs, [0.4, 0.3, 0.2, 0.1])).value == 0
    assert c_statistic(check(y_obs, [0.3, 0.3, 0.3, 0.3])).value == 0.5


def test_one_kind_of_child_gives_a_reason() -> None:
    assert c_statistic(check([0, 0], [0.1, 0.2])).reason == NO_EVENT
    found = delong_interval([0, 0, 1], [0.1, 0.2, 0.3])
    assert found.c.value == 1
    assert found.low.reason == "a standard error of c needs two cases and two non-cases"


def test_interval_narrows_as_the_level_falls() -> None:
    y_obs, y_prob, _ = external("birthwt")
    wide, narrow = delong_interval(y_obs, y_prob, level=0.95), delong_interval(y_obs, y_prob, level=0.5)
    assert wide.low.value is not None
    assert narrow.low.value is not None
    assert wide.low.value < narrow.low.value
    with pytest.raises(ValueError, match="level must lie between 0 and 1: found 95"):
        delong_interval(y_obs, y_prob, level=95)


@pytest.mark.parametrize("seed", range(20))
def test_complete_separation_is_exactly_1_whatever_the_weights(seed: int) -> None:
    weights = np.random.default_rng(seed).uniform(1.0, 1.4, 57)
    y = np.repeat([1.0, 0.0], [19, 38])
    assert c_statistic(check(y, np.where(y == 1, 0.9, 0.1), weights)).value == 1.0
    assert c_statistic(check(y, np.where(y == 1, 0.1, 0.9), weights)).value == 0.0
