import numpy as np
import pytest
from scipy.special import expit, logit

from tests.training.metrics.cases import EXTERNAL, censored, external, invented
from training.metrics.calibration import (
    ALL_ALIKE,
    SEPARATED,
    ZERO_OR_ONE,
    Line,
    fit_line,
    in_the_large,
    line,
    observed_expected,
)
from training.metrics.sample import NO_EVENT, check


def fitted(outcome: Line | str) -> Line:
    assert isinstance(outcome, Line), outcome
    return outcome


@pytest.mark.parametrize("name", EXTERNAL)
def test_calibration_equals_glm(name: str) -> None:
    # source: R 4.2.2, glm(y ~ offset(qlogis(p)), binomial) and glm(y ~ qlogis(p), binomial)
    y_obs, y_prob, expected = external(name)
    sample = check(y_obs, y_prob)
    assert fitted(in_the_large(sample)).intercept == pytest.approx(
        expected["calibration_in_the_large"]["estimate"], abs=1e-8
    )
    assert fitted(line(sample)).slope == pytest.approx(expected["calibration_slope"]["slope"], abs=1e-8)
    assert fitted(line(sample)).intercept == pytest.approx(expected["calibration_slope"]["intercept_joint"], abs=1e-8)
    assert observed_expected(sample).value == pytest.approx(expected["OE"]["OE"], abs=1e-10)


def test_weighted_calibration_equals_quasibinomial_glm() -> None:
    # source: R 4.2.2, glm(family = quasibinomial, weights = IPCW), gbsg at 1096 days; O/E with O from Kaplan-Meier
    y_obs, y_prob, weights, expected = censored()
    sample = check(y_obs, y_prob, weights)
    glm = expected["ipcw_calibration"]
    assert fitted(in_the_large(sample)).intercept == pytest.approx(glm["intercept_offset"], abs=1e-8)
    assert fitted(line(sample)).slope == pytest.approx(glm["slope"], abs=1e-8)
    assert fitted(line(sample)).intercept == pytest.approx(glm["intercept_joint"], abs=1e-8)
    assert observed_expected(sample).value == pytest.approx(expected["OE"]["OE"], abs=1e-9)


def test_expected_number_counts_the_censored_children_too() -> None:
    known_only = observed_expected(check([1, 0], [0.2, 0.2]))
    with_censored = observed_expected(check([1, 0, np.nan], [0.2, 0.2, 0.8], [1.5, 1.5, 0]))
    assert known_only.value == pytest.approx(0.5 / 0.2)
    assert with_censored.value == pytest.approx(0.5 / 0.4)


@pytest.mark.parametrize("seed", range(20))
def test_solution_has_no_gradient_left(seed: int) -> None:
    drawn = invented(seed)
    sample = check(drawn.y_obs, drawn.y_prob, drawn.weights, drawn.counts)
    large, both = fitted(in_the_large(sample)), fitted(line(sample))
    assert abs(sample.weights @ (sample.y_obs - large.fitted)) < 1e-8
    assert abs(sample.weights @ (sample.y_obs - both.fitted)) < 1e-8
    assert abs((sample.weights * (sample.y_obs - both.fitted)) @ both.x) < 1e-8


def test_recalibrated_predictions_have_intercept_0_and_slope_1() -> None:
    y_obs, y_prob, _ = external("birthwt")
    first = fitted(line(check(y_obs, y_prob)))
    again = fitted(line(check(y_obs, first.fitted)))
    assert (again.intercept, again.slope) == pytest.approx((0, 1), abs=1e-10)


def test_shift_and_scale_of_the_log_odds_are_found_again() -> None:
    y_obs, y_prob, _ = external("birthwt")
    first = fitted(line(check(y_obs, y_prob)))
    moved = fitted(line(check(y_obs, expit(2 * logit(y_prob) + 1))))
    assert moved.slope == pytest.approx(first.slope / 2, abs=1e-9)
    assert moved.intercept == pytest.approx(first.intercept - first.slope / 2, abs=1e-9)


@pytest.mark.parametrize("shift", [-25.0, 25.0])
@pytest.mark.parametrize("slope_free", [True, False])
def test_newton_finds_its_way_from_far_away(shift: float, slope_free: bool) -> None:
    y_obs, y_prob, _ = external("birthwt")
    near = fit_line(y_obs, np.ones(len(y_obs)), logit(y_prob), slope_free=slope_free)
    far = fit_line(y_obs, np.ones(len(y_obs)), logit(y_prob) + shift, slope_free=slope_free)
    assert near is not None
    assert far is not None
    assert far.fitted == pytest.approx(near.fitted, abs=1e-10)


def test_refusals_name_their_reason() -> None:
    y_obs = [0, 0, 1, 1]
    assert line(check(y_obs, [0.3, 0.3, 0.3, 0.3])) == ALL_ALIKE
    assert line(check(y_obs, [0.1, 0.2, 0.3, 0.4])) == SEPARATED
    assert line(check(y_obs, [0.1, 0.2, 0.2, 0.4])) == SEPARATED  # touching: the slope still runs to infinity
    assert line(check(y_obs, [0.4, 0.3, 0.2, 0.1])) == SEPARATED
    assert line(check(y_obs, [0.1, 0.3, 0.2, 1.0])) == ZERO_OR_ONE
    assert in_the_large(check(y_obs, [0.0, 0.3, 0.2, 0.4])) == ZERO_OR_ONE
    assert line(check([0, 0], [0.1, 0.2])) == NO_EVENT
    assert observed_expected(check([0, 1], [0.0, 0.0])).reason == "every prediction is 0, so no event is expected"
    assert "next to no event" in (observed_expected(check([1], [5e-324])).reason or "")


def test_prediction_of_0_of_a_censored_child_spoils_nothing() -> None:
    assert isinstance(line(check([0, 1, 0, 1, 0], [0.1, 0.2, 0.3, 0.4, 0.0], [1, 1, 1, 1, 0])), Line)


def test_constant_prediction_has_a_calibration_in_the_large() -> None:
    found = fitted(in_the_large(check([0, 0, 0, 1], [0.5] * 4)))
    assert found.intercept == pytest.approx(logit(0.25), abs=1e-12)


def test_slope_of_constant_prediction_plus_rounding_is_refused() -> None:
    y_prob = 0.11 + 1e-16 * np.arange(40)
    assert line(check([0, 1] * 20, y_prob)) == ALL_ALIKE
