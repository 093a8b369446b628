"""Explanations of boosted trees: they add up, and they find what was put there."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from tests.training.validation.worlds import examined, plain
from training.candidates import BoostedTrees
from training.fitting import Trained
from training.validation.trees import Explained, explain

ENOUGH = 250


def explained(*names: str) -> tuple[Explained, ...]:
    cohort, protocol = plain(ENOUGH)
    held = examined(cohort, protocol)
    compared = SimpleNamespace(replayed=[SimpleNamespace(name=name) for name in ("penalised", *names)])
    return explain(held, cast(Trained, SimpleNamespace(comparison=compared)))


def test_contributions_add_up_to_the_log_odds_of_the_trees() -> None:
    (found,) = explained("trees")
    assert found.reason is None
    assert found.off < 1e-12
    cohort, protocol = plain(ENOUGH)
    held = examined(cohort, protocol)
    grown = BoostedTrees("trees", rank=5, interactions=True).grow(
        held.design, cohort, held.outcome, counts=np.ones(ENOUGH), rng=np.random.default_rng(0)
    )
    rest = grown.log_odds - found.contributions.sum(axis=1)
    assert rest == pytest.approx(np.full(ENOUGH, rest[0]), abs=1e-9)


def test_what_tells_comes_first() -> None:
    for found in explained("trees", "trees_without_interactions"):
        assert found.names[0] == "a"
        assert (np.diff(found.importance) <= 0.0).all()
        assert found.importance == pytest.approx(np.abs(found.contributions).mean(axis=0))
        high = found.values[:, 0] > 1.0
        assert found.contributions[high, 0].mean() > 0.0 > found.contributions[~high, 0].mean()


def test_without_trees_there_is_nothing_to_explain() -> None:
    assert explained() == ()


def test_what_does_not_add_up_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("training.validation.trees.ADDS_UP", -1.0)
    (found,) = explained("trees")
    assert "miss the trees' own log-odds" in (found.reason or "")
