import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.training.metrics.cases import EXTERNAL, external, invented
from training.metrics import MEASURE_NAMES, Measure, measures
from training.metrics.summary import NOT_ASKED


def test_a_measure_is_a_number_or_a_reason_and_never_nan() -> None:
    assert Measure(0.5).value == 0.5
    assert Measure.none("because").value is None
    assert Measure.finite(math.inf, "too large") == Measure(None, "too large")
    with pytest.raises(ValueError, match="give exactly one"):
        Measure(None)
    with pytest.raises(ValueError, match="give exactly one"):
        Measure(0.5, "but why")
    with pytest.raises(ValueError, match="must be finite: found nan"):
        Measure(math.nan)


@pytest.mark.parametrize("name", EXTERNAL)
def test_curve_errors_equal_r(name: str) -> None:
    # source: R 4.2.2, |loess(degree = 2, surface = "direct") - p|: mean, median, 90th percentile, maximum. R's curve is
    # not cut to [0, 1]; on kyphosis two ends of it leave, so there the cut is made here on R's own values.
    y_obs, y_prob, expected = external(name)
    r = expected["loess_direct_degree2"]
    errors = np.abs(np.clip(r["p_cal"], 0, 1) - y_prob)
    if name == "birthwt":
        assert (errors.mean(), errors.max()) == pytest.approx((r["ICI"], r["Emax"]), abs=1e-12)
    found = measures(y_obs, y_prob)
    assert found.ici.value == pytest.approx(errors.mean(), abs=1e-8)
    assert found.e50.value == pytest.approx(np.median(errors), abs=1e-8)
    assert found.e90.value == pytest.approx(np.quantile(errors, 0.9), abs=1e-8)
    assert found.emax.value == pytest.approx(errors.max(), abs=1e-8)
    if name == "birthwt":
        assert found.e50.value == pytest.approx(r["E50"], abs=1e-8)
        assert found.e90.value == pytest.approx(r["E90"], abs=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_counts_are_repeated_rows(seed: int) -> None:
    drawn = invented(seed)
    rows = np.repeat(np.arange(len(drawn.y_obs)), drawn.counts)
    counted = measures(drawn.y_obs, drawn.y_prob, drawn.weights, counts=drawn.counts)
    repeated = measures(drawn.y_obs[rows], drawn.y_prob[rows], drawn.weights[rows])
    for name, measure in counted.items():
        assert measure.value == pytest.approx(getattr(repeated, name).value, abs=1e-9), name


def test_order_of_the_children_does_not_matter() -> None:
    drawn = invented(9)
    order = np.random.default_rng(1).permutation(len(drawn.y_obs))
    straight = measures(drawn.y_obs, drawn.y_prob, drawn.weights)
    mixed = measures(drawn.y_obs[order], drawn.y_prob[order], drawn.weights[order])
    for name, measure in straight.items():
        assert measure.value == pytest.approx(getattr(mixed, name).value, abs=1e-9), name


def test_one_common_factor_of_the_weights_does_not_matter() -> None:
    drawn = invented(10)
    straight = measures(drawn.y_obs, drawn.y_prob, drawn.weights)
    doubled = measures(drawn.y_obs, drawn.y_prob, 2 * drawn.weights)
    for name, measure in straight.items():
        assert measure.value == pytest.approx(getattr(doubled, name).value, abs=1e-9), name


def test_constant_prediction_gives_numbers_where_it_can_and_reasons_elsewhere() -> None:
    y_obs = [0, 0, 0, 1] * 10
    found = measures(y_obs, [0.25] * 40)
    assert found.c.value == 0.5
    assert found.observed_expected.value == pytest.approx(1)
    assert found.citl.value == pytest.approx(0, abs=1e-9)
    assert found.ici.value == pytest.approx(0, abs=1e-12)
    assert found.scaled_brier.value == pytest.approx(0, abs=1e-12)
    without = {name for name, measure in found.items() if measure.value is None}
    assert without == {"intercept", "slope", "r2_recalibrated"}


def test_perfect_prediction_of_0_and_1() -> None:
    found = measures([0] * 15 + [1] * 15, [0.0] * 15 + [1.0] * 15)
    assert (found.c.value, found.observed_expected.value, found.brier.value, found.log_loss.value) == (1, 1, 0, 0)
    assert found.emax.value == pytest.approx(0, abs=1e-9)
    assert found.slope.reason == "a predicted probability is exactly 0 or 1, whose log-odds are infinite"


def test_smoother_is_left_out_on_request() -> None:
    drawn = invented(2)
    quick, full = (measures(drawn.y_obs, drawn.y_prob, drawn.weights, smooth=smooth) for smooth in (False, True))
    for name in MEASURE_NAMES:
        if name in ("ici", "e50", "e90", "emax"):
            assert getattr(quick, name).reason == NOT_ASKED
        else:
            assert getattr(quick, name) == getattr(full, name)


def test_without_any_known_outcome_every_measure_has_the_reason() -> None:
    found = measures([0, 1, 0], [0.1, 0.2, 0.3], [0, 0, 0])
    assert all(measure.value is None for _, measure in found.items())


@given(
    st.lists(
        st.tuples(
            st.sampled_from([0, 1]),
            st.floats(0, 1),
            st.sampled_from([0.0, 0.5, 1.0, 1.7]),
            st.integers(0, 3),
        ),
        max_size=40,
    )
)
def test_whatever_comes_in_every_measure_is_a_number_or_a_reason(rows: list[tuple[int, float, float, int]]) -> None:
    y_obs, y_prob, weights, counts = (np.array([row[i] for row in rows]) for i in range(4))
    found = measures(y_obs, y_prob, weights, counts=counts.astype(np.int64))
    for name, measure in found.items():
        assert (measure.value is None) != (measure.reason is None), name
        assert measure.value is None or math.isfinite(measure.value), name
