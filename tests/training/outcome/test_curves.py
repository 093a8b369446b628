"""Kaplan-Meier of censoring and Aalen-Johansen, against hand calculation and other software."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.training.outcome.reference import d1
from training.cohort import Status
from training.outcome import Steps, aalen_johansen, censoring_survival, median

TOY: dict[str, Any] = d1()["toy"]  # prodlim 2019.11.13 and survival 3.5.3 under R 4.2.2
MONTHS = np.array(TOY["time"], dtype=float)
STATUS = np.array(TOY["status"], dtype=np.int8)
ONCE = np.ones(len(MONTHS))

times = st.lists(st.floats(0.5, 60, allow_nan=False), min_size=2, max_size=40, unique=True)


def test_censoring_curve_of_the_toy_equals_prodlim() -> None:
    curve = censoring_survival(MONTHS, STATUS == Status.FREE, ONCE)

    np.testing.assert_allclose(curve.at(np.array(TOY["G_times"], dtype=float)), TOY["prodlim_G"], atol=1e-12)


def test_events_leave_before_censorings_at_equal_times() -> None:
    """The other order gives 8/9 instead of 7/8 at time 2 of the toy."""
    assert censoring_survival(MONTHS, STATUS == Status.FREE, ONCE).at(2.0) == pytest.approx(7 / 8, abs=1e-12)


@pytest.mark.parametrize(("end", "column"), [(Status.EVENT, "AJ_cause1"), (Status.COMPETING, "AJ_cause2")])
def test_cumulative_incidence_of_the_toy_equals_survival(end: Status, column: str) -> None:
    curve = aalen_johansen(MONTHS, STATUS, ONCE, end)

    np.testing.assert_allclose(curve.at(np.array(TOY["AJ_times"], dtype=float)), TOY[column], atol=1e-12)


@given(times, st.data())
def test_without_ties_the_censoring_curve_is_kaplan_meier(months: list[float], data: st.DataObject) -> None:
    """scipy.stats.ecdf with censorings as the events; with ties its order is the other one."""
    censored = np.array(data.draw(st.lists(st.booleans(), min_size=len(months), max_size=len(months))))
    held = np.array(months)
    reference = stats.ecdf(stats.CensoredData(held[censored], right=held[~censored])).sf

    curve = censoring_survival(held, censored, np.ones(len(held)))

    np.testing.assert_allclose(curve.at(held), reference.evaluate(held), atol=1e-12)


@given(times, st.data())
def test_counts_mean_repeated_children(months: list[float], data: st.DataObject) -> None:
    size = len(months)
    counts = np.array(data.draw(st.lists(st.integers(0, 3), min_size=size, max_size=size)))
    status = np.array(data.draw(st.lists(st.integers(0, 2), min_size=size, max_size=size)), dtype=np.int8)
    held = np.round(np.array(months))
    rows = np.repeat(np.arange(size), counts)
    ones = np.ones(len(rows))

    for end in (Status.EVENT, Status.COMPETING):
        counted = aalen_johansen(held, status, counts.astype(float), end)
        repeated = aalen_johansen(held[rows], status[rows], ones, end)
        np.testing.assert_allclose(counted.at(held), repeated.at(held), atol=1e-12)
    free = status == Status.FREE
    counted = censoring_survival(held, free, counts.astype(float))
    np.testing.assert_allclose(counted.at(held), censoring_survival(held[rows], free[rows], ones).at(held), atol=1e-12)


def test_incidences_and_survival_add_up_to_one() -> None:
    either = aalen_johansen(MONTHS, np.where(STATUS > 0, 1, 0).astype(np.int8), ONCE).at(MONTHS)
    parts = [aalen_johansen(MONTHS, STATUS, ONCE, end).at(MONTHS) for end in (Status.EVENT, Status.COMPETING)]

    np.testing.assert_allclose(parts[0] + parts[1], either, atol=1e-12)


def test_a_step_counts_at_its_time_and_not_just_before_it() -> None:
    steps = Steps(np.array([2.0, 5.0]), np.array([0.75, 0.5]), 1.0)

    assert steps.at(np.array([1.9, 2.0, 5.0, 9.0])).tolist() == [1.0, 0.75, 0.5, 0.5]
    assert steps.before(np.array([2.0, 2.1, 5.0, 9.0])).tolist() == [1.0, 0.75, 0.75, 0.5]


def test_median_is_the_first_time_at_or_under_one_half() -> None:
    thirds = censoring_survival(np.array([3.0, 7.0, 11.0, 15.0]), np.ones(4, dtype=bool), np.ones(4))

    assert median(thirds) == 7.0
    assert median(Steps(np.array([3.0]), np.array([0.6]), 1.0)) is None
