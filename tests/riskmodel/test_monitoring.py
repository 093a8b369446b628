"""Observed against expected in a running service: exact limits, horizons, reviews."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from riskmodel.monitoring import (
    INNER,
    Followed,
    Review,
    Verdict,
    by_half_year,
    by_period,
    count_distribution,
    limits,
    passed,
    review,
    whole,
)

ON = date(2026, 11, 25)


@pytest.mark.parametrize(("children", "risk"), [(1, 0.3), (12, 0.1), (80, 0.16)])
def test_with_equal_risks_the_number_of_events_is_binomial(children: int, risk: float) -> None:
    # source: scipy.stats.binom
    found = count_distribution(np.full(children, risk))
    assert found == pytest.approx(binom.pmf(np.arange(children + 1), children, risk), abs=1e-14)


@given(st.lists(st.floats(0, 1), max_size=40))
def test_mean_and_variance_of_the_number_of_events_are_those_of_independent_children(risks: list[float]) -> None:
    p = np.array(risks)
    chances = count_distribution(p)
    counts = np.arange(len(chances))
    assert chances.sum() == pytest.approx(1)
    mean = counts @ chances
    assert mean == pytest.approx(p.sum())
    assert (counts - mean) ** 2 @ chances == pytest.approx((p * (1 - p)).sum(), abs=1e-9)


@given(st.lists(st.floats(0, 1), max_size=40), st.sampled_from([0.5, 0.9, 0.95, 0.998]))
def test_each_tail_beyond_the_limits_is_as_large_as_allowed_and_no_larger(risks: list[float], level: float) -> None:
    chances = count_distribution(np.array(risks))
    held = limits(chances, level)
    tail = (1 - level) / 2
    assert chances[: held.low].sum() <= tail + 1e-9
    assert chances[held.high + 1 :].sum() <= tail + 1e-9
    assert chances[: held.low + 1].sum() > tail - 1e-9
    assert chances[held.high :].sum() > tail - 1e-9


def test_limits_of_a_binomial_equal_its_quantiles() -> None:
    # source: scipy.stats.binom: of 100 children at a risk of 0.1, 5 to 16 events hold 95% (exact tails)
    held = limits(count_distribution(np.full(100, 0.1)), 0.95)
    assert (held.low, held.high) == (binom.ppf(0.025, 100, 0.1), binom.ppf(0.975, 100, 0.1)) == (5, 16)


def test_a_right_model_is_called_wrong_as_rarely_as_promised() -> None:
    rng = np.random.default_rng(1)
    risks = rng.uniform(0.02, 0.4, 60)
    outside = [whole(risks, (rng.random(60) < risks).tolist()).verdict is not Verdict.AS_EXPECTED for _ in range(1500)]
    # Tails of whole numbers are smaller than asked for; 1,500 periods know the share to within 0.01.
    assert 0.01 < np.mean(outside) < 1 - INNER + 0.01


def test_the_horizon_passes_on_the_day() -> None:
    assert passed(date(2024, 11, 25), 24, ON)
    assert not passed(date(2024, 11, 26), 24, ON)
    assert passed(date(2024, 2, 29), 12, date(2025, 3, 1))
    assert not passed(date(2024, 2, 29), 12, date(2025, 2, 28))
    assert not passed(date(2026, 10, 25), 1.5, ON)


def test_an_early_event_does_not_count_before_its_horizon() -> None:
    """Else a young period would hold its events and not yet its non-events."""
    young = [Followed(date(2026, 3, 1), 0.1, True)] * 5
    old = [Followed(date(2024, 3, 1), 0.1, False)] * 5
    held = by_half_year([*young, *old], horizon_months=24, on=ON)
    assert [(period.name, period.children, period.observed) for period in held] == [("2024, first half", 5, 0)]


def test_half_years_come_in_order_and_sum_to_the_whole() -> None:
    days = [date(2023, 8, 1), date(2023, 2, 1), date(2022, 12, 31), date(2023, 7, 1)]
    children = [Followed(day, 0.25, i == 0) for i, day in enumerate(days)]
    held = by_half_year(children, horizon_months=24, on=ON)
    assert [period.name for period in held] == ["2022, second half", "2023, first half", "2023, second half"]
    assert [period.observed for period in held] == [0, 0, 1]
    assert sum(period.expected for period in held) == pytest.approx(1.0)


def test_who_is_not_known_counts_on_neither_side() -> None:
    held = by_period(["a"] * 11, [0.2] * 10 + [1.0], [True, *[False] * 9, None])[0]
    assert (held.children, held.not_known, held.observed) == (10, 1, 1)
    assert held.expected == pytest.approx(2.0)
    assert held.ratio == pytest.approx(0.5)
    lost = by_period(["a"] * 10, [0.2] * 10, [True] * 7 + [None] * 3)[0]
    assert lost.verdict is Verdict.TOO_MANY_NOT_KNOWN
    assert by_period(["a"], [0.2], [None])[0].verdict is Verdict.NOBODY
    assert by_period(["a"], [0.2], [None])[0].ratio is None


def test_verdicts_follow_the_limits() -> None:
    risks = [0.1] * 100  # 5 to 16 within 95%; 99.8%: 2 to 20 (scipy.stats.binom)

    def verdict(events: int) -> Verdict:
        return whole(risks, [True] * events + [False] * (100 - events)).verdict

    assert [verdict(k) for k in (5, 16)] == [Verdict.AS_EXPECTED] * 2
    assert verdict(17) is Verdict.MORE
    assert verdict(4) is Verdict.FEWER
    assert verdict(int(binom.ppf(0.999, 100, 0.1)) + 1) is Verdict.FAR_MORE
    assert verdict(int(binom.ppf(0.001, 100, 0.1)) - 1) is Verdict.FAR_FEWER


def test_what_few_children_could_tell_is_said() -> None:
    few = whole([0.1] * 10, [False] * 10)
    many = whole([0.1] * 400, [False] * 360 + [True] * 40)
    assert few.smallest_excess == pytest.approx(4.0)  # 4 events of 10 where 1 is expected
    assert few.smallest_excess is not None
    assert many.smallest_excess is not None
    assert many.smallest_excess < 1.4 < few.smallest_excess


def test_a_review_comes_due_before_the_model_expires() -> None:
    released, by = date(2026, 1, 1), date(2028, 1, 1)
    days = {
        date(2025, 12, 31): Review.NOT_RELEASED,
        released: Review.CURRENT,
        date(2027, 10, 3): Review.CURRENT,
        date(2027, 10, 4): Review.DUE_SOON,
        by: Review.DUE_SOON,
        date(2028, 1, 2): Review.PAST,
    }
    assert {day: review(released, by, day) for day in days} == days
