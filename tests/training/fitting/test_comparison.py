"""Candidates against each other: the same drawn children for all, and gaps that are those of left-out children."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit

from tests.training.candidates.studies import study
from training.candidates import KNOWN
from training.fitting.comparison import compare
from training.metrics import log_losses
from training.protocol import CANDIDATES, SHIPPABLE
from training.replay import NotReplayed, ReplayResult, Study, prepare, run, run_all
from training.replay.out_of_bag import losses


def held(count: int = 200, *names: str, seed: int = 1) -> Study:
    rng = np.random.default_rng(seed)
    x = {"a": rng.normal(size=count), "b": rng.normal(size=count)}
    cohort, protocol = study(rng.random(count) < expit(1.5 * x["a"] - 1.0), x)
    return prepare(cohort, protocol, candidates=[KNOWN[name](protocol) for name in names or ("penalised", "rate")])


def replayed(study_: Study, times: int = 30) -> tuple[ReplayResult, ...]:
    found = run_all(study_, times=times, rng=np.random.default_rng(7))
    return tuple(each for each in found if isinstance(each, ReplayResult))


def test_every_word_of_a_protocol_has_its_candidate() -> None:
    assert tuple(KNOWN) == CANDIDATES
    assert set(SHIPPABLE) < set(CANDIDATES)


def test_another_candidate_moves_nothing_of_the_first() -> None:
    together, alone = held(), held(200, "penalised")
    first, other = replayed(together)
    single = run(alone, times=30, rng=np.random.default_rng(7))
    assert np.array_equal(first.predictions, single.predictions)
    assert np.array_equal(first.drawn, other.drawn)
    assert first.measures == single.measures


def test_a_candidate_with_fewer_replays_has_those_of_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    few = replace(held(), candidates=(held().candidates[0], replace(held().candidates[1], most_replays=12)))  # type: ignore[type-var]
    first, other = replayed(few)
    assert (first.times, other.times) == (30, 12)
    assert np.array_equal(first.drawn[:12], other.drawn)


def test_a_candidate_that_cannot_be_fitted_says_why_and_stops_nobody() -> None:
    found = run_all(held(60, "penalised", "trees", "rate"), times=20, rng=np.random.default_rng(7))
    assert [type(each) for each in found] == [ReplayResult, NotReplayed, ReplayResult]
    compared = compare(found, held(60).outcome)
    assert [each.name for each in compared.replayed] == ["penalised", "rate"]
    assert "boosted trees need at least 20 known events" in compared.refused[0].reason


def test_out_of_bag_losses_are_those_of_the_replays_without_the_child() -> None:
    whole = held()
    first = replayed(whole)[0]
    y = whole.outcome.label
    child = 17
    out = [b for b in range(30) if first.drawn[b, child] == 0]
    by_hand = np.mean([log_losses(y[child], first.predictions[b, child]) for b in out])
    assert losses(first, y, log_losses)[child] == pytest.approx(by_hand, abs=1e-12)
    always = replace(first, drawn=np.ones_like(first.drawn))
    assert np.isnan(losses(always, y, log_losses)).all()


def test_a_model_that_sees_a_signal_loses_less_than_the_rate() -> None:
    whole = held()
    (rate,) = compare(replayed(whole), whole.outcome).rivals
    assert rate.name == "rate"
    assert not rate.is_box
    assert rate.log_loss.high.value is not None
    assert rate.log_loss.high.value < 0.0
    assert rate.c.low.value is not None
    assert rate.c.low.value > 0.0


def test_a_candidate_is_no_better_than_itself() -> None:
    whole = held()
    first = replayed(whole)[0]
    (twin,) = compare([first, replace(first, name="trees")], whole.outcome).rivals
    assert twin.is_box
    for gap in (twin.log_loss, twin.brier, twin.c):
        assert (gap.low.value, gap.value.value, gap.high.value) == (0.0, 0.0, 0.0)


def test_without_a_child_left_out_there_is_no_gap_but_a_reason() -> None:
    whole = held()
    first = replayed(whole)[0]
    always = replace(first, drawn=np.ones_like(first.drawn))
    (twin,) = compare([always, always], whole.outcome).rivals
    assert twin.log_loss.value.value is None
    assert "no replay left out" in (twin.log_loss.value.reason or "")
