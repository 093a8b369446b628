import numpy as np
import pytest

from tests.training.metrics.cases import invented
from training.metrics.sample import NO_EVENT, NO_NON_EVENT, NOTHING_KNOWN, check


def test_outcome_of_a_child_without_weight_or_count_is_never_read() -> None:
    sample = check([1, np.nan, 0, np.nan], [0.2, 0.3, 0.4, 0.5], [1, 0, 2, 1], [1, 1, 1, 0])
    assert sample.y_obs.tolist() == [1, 0]
    assert sample.weights.tolist() == [1, 2]
    assert sample.total == 3
    assert sample.rate == pytest.approx(1 / 3)
    assert sample.all_prob.tolist() == [0.2, 0.3, 0.4, 0.5]


@pytest.mark.parametrize(
    ("y_obs", "weights", "lacking"),
    [
        ([1, 0], [0, 0], NOTHING_KNOWN),
        ([1, 0], [0, 1], NO_EVENT),
        ([1, 0], [1, 0], NO_NON_EVENT),
        ([1, 0], [1, 1], None),
    ],
)
def test_which_kind_of_child_is_missing_is_said(y_obs: list[int], weights: list[int], lacking: str | None) -> None:
    assert check(y_obs, [0.5, 0.5], weights).lacking == lacking


def test_weights_and_counts_are_one_when_left_out() -> None:
    drawn = invented(1)
    sample = check(drawn.y_obs, drawn.y_prob)
    assert sample.total == len(drawn.y_obs)
    assert sample.rate == pytest.approx(drawn.y_obs.mean())


def test_shapes_that_differ_are_refused_with_the_shapes() -> None:
    with pytest.raises(ValueError, match=r"must be \(n,\) of one length: found \[\(3,\), \(2,\), \(2,\), \(2,\)\]"):
        check([0, 1, 0], [0.1, 0.2])


def test_everything_that_is_wrong_is_named_at_once() -> None:
    with pytest.raises(ValueError, match="judged") as caught:
        check([2, 0], [1.2, 0.5], [1, -1], [0.5, 1])
    message = str(caught.value)
    for word in ("y_prob must lie in [0, 1]", "weights must be finite", "counts must be whole", "y_obs must be 0 or 1"):
        assert word in message


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -0.1])
def test_weights_that_are_no_weights_are_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match="weights must be finite and at least 0"):
        check([0, 1], [0.1, 0.2], [1, wrong])


def test_a_prediction_that_is_not_a_number_is_refused_even_without_weight() -> None:
    with pytest.raises(ValueError, match="y_prob"):
        check([0, 1], [0.1, np.nan], [1, 0])
