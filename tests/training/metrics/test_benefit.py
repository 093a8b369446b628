import numpy as np
import pytest

from tests.training.metrics.cases import EXTERNAL, external, invented
from training.metrics import net_benefit


@pytest.mark.parametrize("name", EXTERNAL)
def test_net_benefit_equals_r(name: str) -> None:
    # source: R 4.2.2, counts and net benefit written out there; positive when p >= threshold
    y_obs, y_prob, expected = external(name)
    rows = expected["net_benefit"]
    found = net_benefit(y_obs, y_prob, None, [row["threshold"] for row in rows])
    assert found.model == pytest.approx([row["net_benefit"] for row in rows], abs=1e-12)
    assert found.treat_all == pytest.approx([row["treat_all"] for row in rows], abs=1e-12)
    assert found.true_positives * len(y_obs) == pytest.approx([row["tp"] for row in rows])
    assert found.false_positives * len(y_obs) == pytest.approx([row["fp"] for row in rows])
    assert found.model / y_obs.mean() == pytest.approx([row["standardised_nb"] for row in rows], abs=1e-12)
    assert (found.treat_none == 0).all()


def test_counts_are_repeated_rows() -> None:
    drawn = invented(1)
    rows = np.repeat(np.arange(len(drawn.y_obs)), drawn.counts)
    at = np.linspace(0.02, 0.98, 33)
    counted = net_benefit(drawn.y_obs, drawn.y_prob, drawn.weights, at, drawn.counts)
    repeated = net_benefit(drawn.y_obs[rows], drawn.y_prob[rows], drawn.weights[rows], at)
    assert counted.model == pytest.approx(repeated.model, abs=1e-12)


def test_below_every_prediction_the_model_is_treat_all_and_above_it_is_treat_none() -> None:
    drawn = invented(2)
    found = net_benefit(drawn.y_obs, drawn.y_prob, drawn.weights, [0.001, 0.999])
    assert found.model[0] == pytest.approx(found.treat_all[0], abs=1e-12)
    assert found.model[1] == 0


def test_perfect_model_gains_the_rate_at_every_threshold() -> None:
    found = net_benefit([0, 0, 0, 1], [0, 0, 0, 1], None, [0.1, 0.5, 0.9])
    assert found.model == pytest.approx([0.25] * 3)


def test_treat_all_breaks_even_at_the_rate() -> None:
    drawn = invented(3)
    rate = float(drawn.weights @ drawn.y_obs / drawn.weights.sum())
    assert net_benefit(drawn.y_obs, drawn.y_prob, drawn.weights, [rate]).treat_all == pytest.approx([0], abs=1e-12)


@pytest.mark.parametrize("threshold", [0.0, 1.0, np.nan, -0.1])
def test_thresholds_at_the_ends_are_refused(threshold: float) -> None:
    with pytest.raises(ValueError, match="strictly between 0 and 1"):
        net_benefit([0, 1], [0.1, 0.2], None, [threshold])


def test_nothing_known_gives_a_reason() -> None:
    found = net_benefit([0, 1], [0.1, 0.2], [0, 0], [0.1])
    assert found.reason == "no child's outcome at the horizon is known"
    assert found.model.size == 0
