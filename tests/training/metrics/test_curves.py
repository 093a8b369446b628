import numpy as np
import pytest

from tests.training.metrics.cases import external, invented
from training.metrics import calibration_curve, risk_distribution


def test_curve_on_the_predictions_themselves_is_loess() -> None:
    # source: R 4.2.2, loess(..., degree = 2, surface = "direct"); on birth weight nothing leaves [0, 1]
    y_obs, y_prob, expected = external("birthwt")
    curve = calibration_curve(y_obs, y_prob, grid=y_prob)
    assert curve.observed == pytest.approx(np.array(expected["loess_direct_degree2"]["p_cal"]), abs=1e-8)


def test_grid_starts_and_ends_five_children_deep() -> None:
    drawn = invented(4)
    curve = calibration_curve(drawn.y_obs, drawn.y_prob, drawn.weights)
    known = np.sort(drawn.y_prob[drawn.weights > 0])
    assert (curve.y_prob[0], curve.y_prob[-1]) == (known[4], known[-5])
    assert ((curve.observed >= 0) & (curve.observed <= 1)).all()


def test_perfectly_calibrated_groups_lie_on_the_diagonal() -> None:
    y_prob = np.repeat([0.1, 0.3, 0.5], [20, 20, 20])
    y_obs = np.concatenate([np.arange(20) < 2, np.arange(20) < 6, np.arange(20) < 10]).astype(float)
    curve = calibration_curve(y_obs, y_prob, grid=[0.1, 0.3, 0.5])
    assert curve.observed == pytest.approx([0.1, 0.3, 0.5], abs=1e-10)


def test_too_few_children_give_a_reason_and_a_wrong_grid_is_refused() -> None:
    assert calibration_curve([0, 1], [0.1, 0.2]).reason is not None
    with pytest.raises(ValueError, match="grid must be"):
        calibration_curve([0, 1] * 10, [0.1, 0.2] * 10, grid=[1.5])


def test_bins_hold_every_child_once() -> None:
    drawn = invented(5)
    found = risk_distribution(drawn.y_obs, drawn.y_prob, drawn.weights, drawn.counts)
    both = drawn.weights * drawn.counts
    assert found.events.sum() == pytest.approx(both @ drawn.y_obs)
    assert (found.events + found.non_events).sum() == pytest.approx(both.sum())
    assert found.not_known.sum() == drawn.counts[drawn.weights == 0].sum()
    assert len(found.edges) == 21


def test_a_prediction_on_an_edge_belongs_to_the_bin_above_and_1_to_the_last() -> None:
    found = risk_distribution([1, 1, 0], [0.5, 1.0, 0.49], bins=2)
    assert found.events.tolist() == [0, 2]
    assert found.non_events.tolist() == [1, 0]
    with pytest.raises(ValueError, match="bins must be at least 1: found 0"):
        risk_distribution([1], [0.5], bins=0)
