"""Boosted trees: monotone, without interactions where asked, tuned and recalibrated on children left out."""

import numpy as np
import pytest
from scipy.special import expit, logit

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from tests.training.candidates.studies import design, fitted, study
from training.candidates import BoostedTrees, GrownTrees
from training.candidates.folds import folds_of_children
from training.candidates.trees import FEWEST_IN_LEAF, FOLDS, recalibration
from training.cohort import Cohort
from training.metrics.calibration import fit_line
from training.outcome import at_horizon
from training.protocol import Protocol

ADDITIVE = BoostedTrees("trees_without_interactions", rank=4, interactions=False)
FREE = BoostedTrees("trees", rank=5, interactions=True)
# Beyond 255 distinct values the library bins by weighted quantiles, which takes ten times as long as growing.
ENOUGH = 250


def drawn(count: int, seed: int = 1) -> tuple[Floats, Floats, np.random.Generator]:
    rng = np.random.default_rng(seed)
    return rng.normal(size=count), rng.normal(size=count), rng


def grown(candidate: BoostedTrees, cohort: Cohort, protocol: Protocol) -> GrownTrees:
    outcome, counts = at_horizon(cohort, protocol), np.ones(len(cohort))
    held = design(cohort, protocol)
    return candidate.grow(held, cohort, outcome, counts=counts, rng=np.random.default_rng(1))


def scores(trees: GrownTrees, *points: tuple[float, float]) -> Floats:
    found: Floats = trees.model.decision_function(np.array(points))
    return found


def test_the_risk_moves_only_the_way_the_dictionary_says() -> None:
    a, b, rng = drawn(ENOUGH)
    y = rng.random(ENOUGH) < expit(-1.0 - 1.5 * np.abs(a) + b)
    cohort, protocol = study(y, {"a": a, "b": b}, a="rises")
    along = [(at, 0.0) for at in np.linspace(-3, 3, 61)]
    assert (np.diff(scores(grown(FREE, cohort, protocol), *along)) >= 0.0).all()
    free_cohort, free_protocol = study(y, {"a": a, "b": b})
    assert (np.diff(scores(grown(FREE, free_cohort, free_protocol), *along)) < 0.0).any()


def test_without_interactions_the_log_odds_add_up() -> None:
    a, b, rng = drawn(ENOUGH)
    y = rng.random(ENOUGH) < expit(-1.0 + 2.5 * np.sign(a) * np.sign(b))
    cohort, protocol = study(y, {"a": a, "b": b})
    corners = ((1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0))

    def contrast(candidate: BoostedTrees) -> float:
        both, first, second, none = scores(grown(candidate, cohort, protocol), *corners)
        return float(both - first - second + none)

    assert contrast(ADDITIVE) == pytest.approx(0.0, abs=1e-12)
    assert contrast(FREE) > 1.0


def test_every_leaf_holds_at_least_twenty_children_however_often_they_were_drawn() -> None:
    a, b, rng = drawn(ENOUGH)
    cohort, protocol = study(rng.random(ENOUGH) < 0.3, {"a": a, "b": b})
    counts = np.zeros(ENOUGH)
    counts[:150] = 3.0
    outcome = at_horizon(cohort, protocol, counts=counts)
    held = design(cohort, protocol, counts)
    trees = FREE.grow(held, cohort, outcome, counts=counts, rng=np.random.default_rng(1))
    for (tree,) in trees.model._predictors:
        nodes = tree.nodes
        assert nodes["count"][nodes["is_leaf"].astype(bool)].min() >= FEWEST_IN_LEAF
        assert nodes["count"][0] == 150


def test_drawing_everybody_twice_changes_nothing() -> None:
    a, b, rng = drawn(ENOUGH)
    cohort, protocol = study(rng.random(ENOUGH) < expit(a - 1.0), {"a": a, "b": b})
    once = fitted(FREE, cohort, protocol, np.ones(ENOUGH)).probability
    twice = fitted(FREE, cohort, protocol, np.full(ENOUGH, 2.0)).probability
    assert twice == pytest.approx(once, abs=1e-9)


def test_holes_are_taken_as_they_are() -> None:
    a, b, rng = drawn(ENOUGH)
    y = rng.random(ENOUGH) < expit(2.0 * a - 1.0)
    cohort, protocol = study(y, {"a": np.where(rng.random(ENOUGH) < 0.3, np.nan, a), "b": b})
    found = fitted(FREE, cohort, protocol).probability
    assert ((found > 0.0) & (found < 1.0)).all()
    assert found[y].mean() > found[~y].mean() + 0.1


def test_where_nothing_is_to_be_found_everybody_gets_about_the_rate() -> None:
    a, b, rng = drawn(ENOUGH, seed=11)
    cohort, protocol = study(rng.random(ENOUGH) < 0.2, {"a": a, "b": b})
    trees = grown(FREE, cohort, protocol)
    raw = expit(trees.model.decision_function(trees.columns.values))
    assert trees.slope < 0.5
    assert expit(trees.log_odds).std() < 0.5 * raw.std()


def test_folds_are_of_children_and_spread_the_events() -> None:
    y = np.repeat([1.0, 0.0], [23, 77])
    folds = folds_of_children(y, np.random.default_rng(1), count=FOLDS)
    events = np.bincount(folds[y == 1], minlength=FOLDS)
    assert np.ptp(events) <= 1
    assert np.ptp(np.bincount(folds, minlength=FOLDS)) <= 2
    with pytest.raises(FitRefused, match="5 folds of children need as many events: found 4"):
        folds_of_children(np.repeat([1.0, 0.0], [4, 96]), np.random.default_rng(1), count=FOLDS)


def test_the_slope_of_recalibration_stays_within_0_and_1() -> None:
    rng = np.random.default_rng(3)
    x, ones = rng.normal(size=2000), np.ones(2000)
    y = (rng.random(2000) < expit(0.5 * x - 1.0)).astype(np.float64)
    intercept, slope = recalibration(y, ones, x)
    free = fit_line(y, ones, x, slope_free=True)
    assert free is not None
    assert (intercept, slope) == pytest.approx((free.intercept, free.slope), abs=1e-6)
    assert recalibration(y, ones, 0.1 * x)[1] == 1.0
    rate = float(logit(y.mean()))
    assert recalibration(y, ones, -x) == pytest.approx((rate, 0.0))
    assert recalibration(y, ones, np.zeros(2000)) == pytest.approx((rate, 0.0))


def test_twelve_events_are_too_few() -> None:
    a, b, _ = drawn(120)
    cohort, protocol = study(np.arange(120) < 12, {"a": a, "b": b})
    said = FREE.lacking(at_horizon(cohort, protocol))
    assert said is not None
    assert "at least 20 known events" in said
    assert said.endswith("found 12 and 108")
