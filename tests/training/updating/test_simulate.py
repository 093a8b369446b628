"""Courses drawn from given risks are followed, lost and ended as the cohort's own were."""

from functools import cache

import numpy as np
import pytest

from tests import demonstration
from tests.training.builders import cohort, timed, two_centres
from tests.training.updating import worlds
from training.cohort import Cohort, Status
from training.outcome import Outcome, at_horizon
from training.updating.simulate import Simulator, simulator


@cache
def held() -> tuple[Cohort, Outcome, Simulator]:
    whole, protocol = worlds.others(5, 900), demonstration.protocol(worlds.REVISION)
    outcome = at_horizon(whole, protocol)
    return whole, outcome, simulator(whole, protocol, outcome)


def drawn(probability: float, times: int = 40) -> list[tuple[np.ndarray, np.ndarray]]:
    whole, _, simulate = held()
    stream = np.random.default_rng(1)
    return [(s.y, s.weights) for s in (simulate(np.full(len(whole), probability), stream) for _ in range(times))]


@pytest.mark.parametrize("probability", [0.05, 0.3])
def test_the_weighted_rate_is_the_risk_that_was_put_in(probability: float) -> None:
    rates = [float(y @ weights / weights.sum()) for y, weights in drawn(probability)]
    error = (probability * (1 - probability) / 900 / 40) ** 0.5
    assert np.mean(rates) == pytest.approx(probability, abs=4 * error)


def test_weights_sum_to_the_children_of_known_course() -> None:
    whole, _, _ = held()
    for _, weights in drawn(0.1, 5):
        assert weights.sum() == pytest.approx(whole.course.known.sum(), rel=1e-9)


def test_as_many_are_lost_as_in_the_cohort() -> None:
    whole, outcome, _ = held()
    rate = float(outcome.label @ outcome.weight / outcome.weight.sum())
    lost = [np.count_nonzero(weights[whole.course.known] == 0) for _, weights in drawn(rate)]
    assert np.mean(lost) == pytest.approx(outcome.censored_before, rel=0.05)


def test_children_of_unknown_course_stay_unknown() -> None:
    whole, _, _ = held()
    for _, weights in drawn(0.1, 3):
        assert not weights[~whole.course.known].any()


def test_what_competes_takes_its_share() -> None:
    status = np.repeat([Status.EVENT, Status.COMPETING, Status.FREE], [30, 50, 120])
    months = np.concatenate([np.linspace(1, 20, 30), np.linspace(1, 20, 50), np.full(120, 40.0)])
    whole, protocol = cohort(months, status), timed(24.0)
    simulate = simulator(whole, protocol, at_horizon(whole, protocol))
    assert simulate.competing_share == pytest.approx(50 / 170)
    ends, _ = simulate._ends(np.full(200, 0.15), np.random.default_rng(2))
    assert np.mean(ends == Status.COMPETING) == pytest.approx(0.85 * 50 / 170, abs=0.08)


def test_where_nobody_is_lost_everybody_weighs_one() -> None:
    status = np.repeat([Status.EVENT, Status.FREE], [20, 80])
    whole, protocol = cohort(np.concatenate([np.linspace(1, 20, 20), np.full(80, 30.0)]), status), timed(24.0)
    simulate = simulator(whole, protocol, at_horizon(whole, protocol))
    sample = simulate(np.full(100, 0.2), np.random.default_rng(3))
    assert (sample.weights == 1.0).all()
    assert not sample.weighted


def test_each_centre_loses_its_children_as_it_did() -> None:
    whole, protocol = two_centres(), timed(24.0, by_centre=True)
    outcome = at_horizon(whole, protocol)
    simulate = simulator(whole, protocol, outcome)
    assert whole.centre is not None
    stream, shares = np.random.default_rng(4), []
    for _ in range(200):
        weights = simulate(np.full(60, 0.1), stream).weights
        shares.append([np.mean(weights[whole.centre.values == code] == 0) for code in (0, 1)])
    early, late = np.mean(shares, axis=0)
    pooled = at_horizon(whole, timed(24.0))
    assert (outcome.censoring == pooled.censoring) == (early == pytest.approx(late, abs=0.02))
