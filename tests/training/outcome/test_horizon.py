"""The outcome at the horizon: the weights' identity, other software's weights, and the rules at the edges."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from riskmodel.cases.table import Floats
from tests.training.builders import PLAIN, cohort, cohort_of, timed, two_centres
from tests.training.outcome.reference import d1, gbsg
from training.cohort import Cohort, Status, course
from training.outcome import Censoring, Outcome, aalen_johansen, at_horizon, kish

HORIZON = 6.0
MONTHS = st.sampled_from([1.0, 2.0, 3.0, 4.0, 5.0, 5.5, HORIZON, 7.0, 8.0])  # ties everywhere, at the horizon too


@st.composite
def samples(draw: st.DrawFn) -> tuple[Cohort, Floats]:
    """A cohort with many ties and how often each child is in a replay."""
    children = draw(st.lists(st.tuples(MONTHS, st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=40))
    months, status, counts = zip(*children, strict=True)
    return cohort(months, status), np.array(counts, dtype=float)


def incidence_by_hand(held: Cohort, counts: Floats, window: float) -> float:
    """Aalen-Johansen at the horizon, one time after the other."""
    months, status = np.array(held.course.timed), held.course.status
    months[(status == Status.FREE) & (months >= HORIZON - window) & (months < HORIZON)] = HORIZON
    free, incidence = 1.0, 0.0
    for time in sorted({float(each) for each in months[~np.isnan(months)]}):
        at_risk = counts[months >= time].sum()
        if time <= HORIZON and at_risk:
            incidence += free * counts[(months == time) & (status == Status.EVENT)].sum() / at_risk
            free *= 1 - counts[(months == time) & np.isin(status, (Status.EVENT, Status.COMPETING))].sum() / at_risk
    return incidence


@given(samples(), st.sampled_from([0.0, 1.0, 3.5]))
def test_weights_sum_to_the_children_and_the_weighted_rate_is_aalen_johansen(
    sample: tuple[Cohort, Floats], window: float
) -> None:
    held, counts = sample
    known = held.course.known
    outcome = at_horizon(held, timed(HORIZON, window), counts=counts)
    assume(counts[known & (outcome.status == Status.FREE)].sum() > 0)  # somebody is followed to the horizon
    size = counts[known].sum()

    assert np.sum(counts * outcome.weight) == pytest.approx(size, rel=1e-12)
    rate = np.sum(counts * outcome.weight * outcome.label) / size
    assert rate == pytest.approx(incidence_by_hand(held, counts, window), abs=1e-12)


@given(samples())
def test_counts_weigh_as_repeated_children_do(sample: tuple[Cohort, Floats]) -> None:
    held, counts = sample
    assume(counts.any())
    rows = np.repeat(np.arange(len(held)), counts.astype(int))

    counted = at_horizon(held, timed(HORIZON), counts=counts)
    repeated = at_horizon(held.take(rows), timed(HORIZON))

    np.testing.assert_allclose(counted.weight[rows], repeated.weight, atol=1e-12)
    assert not counted.weight[counts == 0].any()


@given(samples())
def test_a_child_of_unknown_outcome_changes_nothing_for_the_others(sample: tuple[Cohort, Floats]) -> None:
    held, _ = sample
    known = held.course.known
    everyone, stated = at_horizon(held, timed(HORIZON)), at_horizon(held.take(known), timed(HORIZON))

    assert everyone.weight[known].tolist() == stated.weight.tolist()
    assert not everyone.weight[~known].any()
    assert everyone.unstated == np.count_nonzero(~known)


def test_an_end_exactly_at_the_horizon_counts_and_a_later_one_does_not() -> None:
    held = cohort([24, 24, 24, 24.01, 24.01, 23.99], [1, 2, 0, 1, 2, 0])

    outcome = at_horizon(held, timed(24))

    assert outcome.status.tolist() == [1, 2, 0, 0, 0, 3]
    assert outcome.label.tolist() == [1, 0, 0, 0, 0, 0]
    assert outcome.censored_before == 1
    assert outcome.at_risk == 5


def test_everyone_seen_exactly_at_the_horizon_is_kept() -> None:
    outcome = at_horizon(cohort([24.0] * 20, [0] * 15 + [1] * 5), timed(24))

    assert outcome.weight.tolist() == [1.0] * 20


def test_without_censoring_every_weight_is_one() -> None:
    outcome = at_horizon(cohort([1, 2, 3, 4, 30, 40], [1, 2, 1, 1, 0, 1]), timed(24))

    assert outcome.weight.tolist() == [1.0] * 6


def test_the_window_moves_only_free_children_seen_within_it() -> None:
    held = cohort([21.9, 22, 23, 23, 23, 24], [0, 0, 0, 1, 2, 0])

    outcome = at_horizon(held, timed(24, window=2))

    assert outcome.status.tolist() == [3, 0, 0, 1, 2, 0]
    assert outcome.in_window == 2
    assert np.sum(outcome.weight) == pytest.approx(6, abs=1e-12)


def test_weights_of_the_toy_at_four_and_a_half_equal_prodlim() -> None:
    """At its own horizon 4 the reference drops children seen exactly then; at 4.5 the two rules agree."""
    toy = d1()["toy"]

    outcome = at_horizon(cohort(toy["time"], toy["status"]), timed(4.5))

    np.testing.assert_allclose(outcome.weight, toy["w_prodlim"], atol=1e-12)
    assert np.mean(outcome.weight * outcome.label) == pytest.approx(toy["AJ_cause1"][3], abs=1e-12)


def weighted_auc(outcome: Outcome, risk: Floats) -> float:
    """Share of weighted pairs (case, known non-case) in which the case has the higher risk, ties half."""
    case, control = outcome.label == 1, outcome.known & (outcome.label == 0)
    higher = np.sign(risk[case][:, None] - risk[control][None, :]) / 2 + 0.5
    pairs = outcome.weight[case][:, None] * outcome.weight[control][None, :]
    return float((pairs * higher).sum() / pairs.sum())


def test_weights_auc_and_brier_of_the_breast_cancer_trial_equal_riskregression() -> None:
    """riskRegression::Score at 1096 days of a Cox model fitted elsewhere (Royston & Altman 2013); 686 women."""
    data = gbsg()
    reference: dict[str, Any] = d1()["gbsg"]["h1096"]
    outcome = at_horizon(cohort(data["time"], data["status"]), timed(1096))
    risk = np.array(reference["p"])

    np.testing.assert_allclose(outcome.weight, reference["weights_all_prodlim"], atol=1e-9)
    assert weighted_auc(outcome, risk) == pytest.approx(reference["Score"]["AUC"]["AUC"], abs=1e-9)
    brier = np.mean(outcome.weight * (outcome.label - risk) ** 2)
    assert brier == pytest.approx(reference["Score"]["Brier"]["Brier"], abs=1e-9)
    assert np.mean(outcome.weight * outcome.label) == pytest.approx(reference["km"]["risk"], abs=1e-9)
    assert outcome.events == reference["hand_prodlim_ties"]["n_cases"]
    assert outcome.censored_before == reference["hand_prodlim_ties"]["n_censored_before"]


def test_censoring_by_centre_keeps_the_identity_in_each_centre() -> None:
    held = two_centres()
    outcome = at_horizon(held, timed(24, by_centre=True))

    assert outcome.censoring is Censoring.BY_CENTRE
    for rows in (slice(0, 30), slice(30, 60)):
        own = np.arange(60)[rows]
        alone = at_horizon(held.take(own), timed(24))
        np.testing.assert_allclose(outcome.weight[rows], alone.weight, atol=1e-12)
        assert outcome.weight[rows].sum() == pytest.approx(30, abs=1e-9)


def test_each_of_three_centres_has_its_own_censoring() -> None:
    rng = np.random.default_rng(11)
    months = np.concatenate([rng.integers(first, 60, 40) for first in (1, 12, 20)]).astype(float)
    held = cohort_of(course(rng.choice([0, 1, 1, 2], 120), months), centres=[0] * 40 + [1] * 40 + [2] * 40)
    outcome = at_horizon(held, timed(24, by_centre=True))

    assert outcome.censoring is Censoring.BY_CENTRE
    for own in np.split(np.arange(120), 3):
        alone = at_horizon(held.take(own), timed(24))
        np.testing.assert_allclose(outcome.weight[own], alone.weight, atol=1e-12)


def test_censoring_is_pooled_where_a_centre_has_under_ten_at_the_horizon() -> None:
    held = two_centres(first=6)
    asked, pooled = at_horizon(held, timed(24, by_centre=True)), at_horizon(held, timed(24))

    assert asked.censoring is Censoring.POOLED_TOO_FEW
    assert asked.weight.tolist() == pooled.weight.tolist()


def test_a_plain_outcome_weighs_every_known_child_once() -> None:
    outcome = at_horizon(cohort_of(course([0, 1, 3, 1])), PLAIN, counts=np.array([2.0, 1.0, 1.0, 0.0]))

    assert outcome.label.tolist() == [0, 1, 0, 1]
    assert outcome.weight.tolist() == [1, 1, 0, 0]
    assert outcome.horizon_months is None


def test_the_arrays_are_locked_and_checked() -> None:
    outcome = at_horizon(cohort([1, 30], [1, 0]), timed(24))

    with pytest.raises(ValueError, match="read-only"):
        outcome.weight[0] = 2.0
    with pytest.raises(ValueError, match="must weigh 0"):
        replace(outcome, status=np.array([3, 0], dtype=np.int8))
    with pytest.raises(ValueError, match="one entry per child"):
        replace(outcome, label=np.zeros(3))


def test_incidence_does_not_depend_on_the_order_of_the_children() -> None:
    held = two_centres()
    order = np.random.default_rng(3).permutation(60)
    forward, shuffled = at_horizon(held, timed(24)), at_horizon(held.take(order), timed(24))

    np.testing.assert_allclose(shuffled.weight, forward.weight[order], atol=1e-12)
    curve = aalen_johansen(held.course.timed, held.course.status, np.ones(60))
    assert np.mean(forward.weight * forward.label) == pytest.approx(float(curve.at(24.0)), abs=1e-12)


@given(st.lists(st.tuples(st.floats(0.5, 5), st.integers(0, 3)), min_size=1, max_size=30))
def test_kish_is_the_share_that_counted_weights_are_worth(children: list[tuple[float, int]]) -> None:
    weights, counts = (np.array(each, dtype=float) for each in zip(*children, strict=True))
    assume(counts.any())
    rows = np.repeat(weights, counts.astype(int))

    assert kish(weights, counts) == pytest.approx(rows.sum() / (rows**2).sum(), rel=1e-12)
    assert kish(np.ones(len(counts)), counts) == 1.0
