import numpy as np
import pytest

from tests.training.metrics.cases import EXTERNAL, external, invented
from training.metrics.sample import check
from training.metrics.smoothing import TOO_FEW, local_quadratic, smooth_risk, too_few


@pytest.mark.parametrize("name", EXTERNAL)
def test_curve_equals_loess_computed_directly(name: str) -> None:
    # source: R 4.2.2, loess(y ~ p, span = .75, degree = 2, control = loess.control(surface = "direct"))
    y_obs, y_prob, expected = external(name)
    found = local_quadratic(y_prob, y_obs, np.ones(len(y_obs)), y_prob)
    assert found == pytest.approx(np.array(expected["loess_direct_degree2"]["p_cal"]), abs=1e-8)


@pytest.mark.parametrize("name", EXTERNAL)
def test_curve_is_near_the_interpolated_loess(name: str) -> None:
    # source: R 4.2.2, loess(y ~ p) with its defaults, which blends between the corners of a tree: within 0.05 a point
    y_obs, y_prob, expected = external(name)
    found = local_quadratic(y_prob, y_obs, np.ones(len(y_obs)), y_prob)
    difference = np.abs(found - np.array(expected["loess_default_interpolate"]["p_cal"]))
    assert difference.max() < 0.05
    assert difference.mean() < 0.01


@pytest.mark.parametrize("span", [0.3, 0.75, 1.0])
def test_parabola_comes_back_whatever_the_weights(span: float) -> None:
    rng = np.random.default_rng(1)
    x, weights = rng.random(60), rng.uniform(0.5, 3, 60)
    at = np.linspace(-0.2, 1.2, 40)
    found = local_quadratic(x, 1 - 2 * x + 3 * x**2, weights, at, span=span)
    assert found == pytest.approx(1 - 2 * at + 3 * at**2, abs=1e-8)


def test_curve_moves_with_shift_and_scale_of_the_regressor() -> None:
    y_obs, y_prob, _ = external("birthwt")
    ones = np.ones(len(y_obs))
    here = local_quadratic(y_prob, y_obs, ones, y_prob)
    there = local_quadratic(100 * y_prob - 7, y_obs, ones, 100 * y_prob - 7)
    assert there == pytest.approx(here, abs=1e-10)


def test_one_common_weight_changes_nothing() -> None:
    y_obs, y_prob, _ = external("birthwt")
    ones = np.ones(len(y_obs))
    assert local_quadratic(y_prob, y_obs, 3 * ones, y_prob) == pytest.approx(
        local_quadratic(y_prob, y_obs, ones, y_prob), abs=1e-12
    )


def test_curve_equals_weighted_least_squares_written_out() -> None:
    rng = np.random.default_rng(3)
    x, y, weights = rng.random(50), rng.random(50), rng.uniform(0.5, 2, 50)
    at = 0.37
    away = np.abs(x - at)
    width = np.sort(away)[int(0.75 * 50) - 1]
    tricube = np.where(away < width, (1 - (away / width) ** 3) ** 3, 0)
    root = np.sqrt(weights * tricube)
    design = np.stack((np.ones(50), x - at, (x - at) ** 2), axis=1)
    expected = np.linalg.lstsq(design * root[:, None], y * root, rcond=None)[0][0]
    assert local_quadratic(x, y, weights, np.array([at]))[0] == pytest.approx(expected, abs=1e-10)


def test_blocks_do_not_change_the_curve(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = invented(5)
    ones = np.ones(len(drawn.y_obs))
    whole = local_quadratic(drawn.y_prob, drawn.y_obs, ones, drawn.y_prob)
    monkeypatch.setattr("training.metrics.smoothing.MOST_CELLS", 1)
    assert local_quadratic(drawn.y_prob, drawn.y_obs, ones, drawn.y_prob).tolist() == whole.tolist()


def test_few_distinct_values_give_their_own_means() -> None:
    x = np.repeat([0.1, 0.2, 0.6], [10, 5, 5])
    y = np.tile([0.0, 1.0, 0.0, 0.0, 1.0], 4)
    means = local_quadratic(x, y, np.ones(20), np.array([0.1, 0.2, 0.6]), span=1.0)
    assert means == pytest.approx([0.4, 0.4, 0.4], abs=1e-10)
    alike = local_quadratic(np.full(20, 0.3), y, np.ones(20), np.array([0.3, 0.9]))
    assert alike == pytest.approx([0.4, 0.4], abs=1e-12)


def test_rows_tied_beyond_the_window_all_count() -> None:
    y_obs = np.array([0.0, 0.0, 0.0, 1.0] * 10)
    for order in (np.arange(40), np.argsort(y_obs), np.argsort(-y_obs)):
        found = local_quadratic(np.full(40, 0.25), y_obs[order], np.ones(40), np.array([0.25, 0.4]))
        assert found == pytest.approx([0.25, 0.25], abs=1e-12)


def test_counts_are_repeated_rows() -> None:
    drawn = invented(8)
    rows = np.repeat(np.arange(len(drawn.y_obs)), drawn.counts)
    at = np.linspace(0.1, 0.8, 30)
    counted = smooth_risk(check(drawn.y_obs, drawn.y_prob, drawn.weights, drawn.counts), at)
    repeated = smooth_risk(check(drawn.y_obs[rows], drawn.y_prob[rows], drawn.weights[rows]), at)
    assert counted == pytest.approx(repeated, abs=1e-10)


def test_smoothed_risk_stays_within_0_and_1() -> None:
    y_obs, y_prob, expected = external("kyphosis")
    assert min(expected["loess_direct_degree2"]["p_cal"]) < 0
    assert smooth_risk(check(y_obs, y_prob), y_prob).min() == 0


def test_nine_known_children_are_too_few() -> None:
    assert too_few(check([0, 1] * 5, [0.5] * 10, [0] + [1] * 9)) == TOO_FEW
    assert too_few(check([0, 1] * 5, [0.5] * 10)) is None
