import numpy as np
import pytest
from sklearn.metrics import brier_score_loss, log_loss

from tests.training.metrics.cases import EXTERNAL, censored, external, invented
from training.metrics import gain_over_rate, measures, no_information
from training.metrics.scores import SURE_AND_WRONG


@pytest.mark.parametrize("name", EXTERNAL)
def test_scores_equal_r(name: str) -> None:
    # source: R 4.2.2, log-likelihoods by glm, the scores written out there; rms::val.prob 6.5.0 for Brier and R2
    y_obs, y_prob, expected = external(name)
    found = measures(y_obs, y_prob, smooth=False)
    assert found.brier.value == pytest.approx(expected["brier"], abs=1e-12)
    assert found.brier.value == pytest.approx(expected["val_prob"]["Brier"], abs=1e-12)
    assert found.scaled_brier.value == pytest.approx(expected["scaled_brier"], abs=1e-12)
    assert found.log_loss.value == pytest.approx(expected["log_loss"], abs=1e-12)
    assert found.r2.value == pytest.approx(expected["R2"]["nagelkerke_as_is"], abs=1e-10)
    assert found.r2.value == pytest.approx(expected["val_prob"]["R2"], abs=1e-8)
    assert found.r2_cox_snell.value == pytest.approx(expected["R2"]["cox_snell_as_is"], abs=1e-10)
    assert found.r2_mcfadden.value == pytest.approx(expected["R2"]["mcfadden_as_is"], abs=1e-10)
    assert found.r2_tjur.value == pytest.approx(expected["R2"]["tjur"], abs=1e-10)
    assert found.r2_recalibrated.value == pytest.approx(expected["R2"]["nagelkerke_recalibrated"], abs=1e-10)


def test_brier_at_a_horizon_equals_riskregression() -> None:
    # source: riskRegression::Score 2022.11.28, gbsg at 1096 days, cens.model = "km", summary = "ipa"
    y_obs, y_prob, weights, expected = censored()
    found = measures(y_obs, y_prob, weights, smooth=False)
    assert found.brier.value == pytest.approx(expected["Score"]["Brier"]["Brier"], abs=1e-9)
    assert found.scaled_brier.value == pytest.approx(expected["Score"]["Brier"]["IPA"], abs=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_weighted_losses_equal_scikit_learn(seed: int) -> None:
    # source: scikit-learn, brier_score_loss and log_loss with sample_weight
    drawn = invented(seed)
    both = drawn.weights * drawn.counts
    found = measures(drawn.y_obs, drawn.y_prob, drawn.weights, counts=drawn.counts, smooth=False)
    assert found.brier.value == pytest.approx(
        brier_score_loss(drawn.y_obs, drawn.y_prob, sample_weight=both), abs=1e-12
    )
    assert found.log_loss.value == pytest.approx(log_loss(drawn.y_obs, drawn.y_prob, sample_weight=both), abs=1e-12)


def test_rate_as_prediction_explains_nothing() -> None:
    drawn = invented(11)
    rate = float(drawn.weights @ drawn.y_obs / drawn.weights.sum())
    found = measures(drawn.y_obs, np.full(len(drawn.y_obs), rate), drawn.weights, smooth=False)
    for measure in (found.scaled_brier, found.r2, found.r2_cox_snell, found.r2_mcfadden, found.r2_tjur):
        assert measure.value == pytest.approx(0, abs=1e-12)


def test_perfect_prediction_explains_everything() -> None:
    found = measures([0, 0, 1, 1], [0.0, 0.0, 1.0, 1.0], smooth=False)
    assert found.brier.value == 0
    assert found.log_loss.value == 0
    for measure in (found.scaled_brier, found.r2, found.r2_mcfadden, found.r2_tjur):
        assert measure.value == pytest.approx(1, abs=1e-12)


def test_sure_and_wrong_has_no_log_loss() -> None:
    found = measures([0, 1, 1], [0.2, 0.0, 0.9], smooth=False)
    assert found.log_loss.reason == SURE_AND_WRONG
    assert found.r2.reason == SURE_AND_WRONG
    assert found.brier.value == pytest.approx((0.04 + 1 + 0.01) / 3)


def test_no_information_losses_equal_the_double_sum() -> None:
    drawn = invented(12)
    w, y, p = drawn.weights * drawn.counts, drawn.y_obs[:, None], drawn.y_prob[None, :]
    pairs = w[:, None] * w[None, :] / w.sum() ** 2
    found = no_information(drawn.y_obs, drawn.y_prob, drawn.weights, drawn.counts)
    assert found.brier.value == pytest.approx(float((pairs * (y - p) ** 2).sum()), abs=1e-12)
    logs = -(y * np.log(p) + (1 - y) * np.log(1 - p))
    assert found.log_loss.value == pytest.approx(float((pairs * logs).sum()), abs=1e-12)


def test_no_information_without_known_outcome_or_with_a_certain_prediction_gives_reasons() -> None:
    assert no_information([0, 1], [0.2, 0.3], [0, 0]).brier.reason is not None
    assert no_information([0, 1], [0.0, 0.3]).log_loss.reason == SURE_AND_WRONG


def test_the_rate_gains_nothing_over_itself() -> None:
    y, once = np.array([1.0, 0, 0, 1, 0, 0, 0, 0]), np.ones(8)
    rate_without = (y.sum() - y) / 7
    assert gain_over_rate(y, rate_without, once) == pytest.approx(0)
    assert gain_over_rate(y, 0.9 * y + 0.05, once) > 2


def test_the_gain_of_a_part_is_told_against_the_rate_of_all() -> None:
    y, p, weights = np.array([1.0, 0, 0, 1, 0, 0]), np.linspace(0.1, 0.6, 6), np.array([1.0, 2, 1, 1.5, 1, 1])
    totals = {"total": float(weights.sum()), "events": float(weights @ y)}
    parts = [gain_over_rate(y[rows], p[rows], weights[rows], **totals) for rows in (slice(0, 2), slice(2, 6))]
    assert sum(parts) == pytest.approx(gain_over_rate(y, p, weights), abs=1e-12)
