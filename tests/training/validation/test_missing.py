"""What was not measured: draws that know the outcome, complete children, and what measuring would buy."""

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.cases.table import Column, column
from tests import demonstration
from tests.training.candidates.studies import study
from tests.training.validation.worlds import examined, validation, world
from training.rubin import combine
from training.validation.missing import DRAWS, MissingData, _drawn_fits, _pooled, sensitivity
from training.validation.refit import Examined


def holed(share: float, count: int = 800) -> tuple[Examined, Examined]:
    """A world with this share of `a` gone at random, and the same with everything known; `b` follows `a`."""
    x, y, rng = world(count)
    other = 0.8 * x + 0.6 * rng.normal(size=count)
    gone = rng.random(count) < share
    cohort, protocol = study(y, {"a": np.where(gone, np.nan, x), "b": other})
    whole, same = study(y, {"a": x, "b": other})
    return examined(cohort, protocol), examined(whole, same)


def without_bundle(held: Examined, monkeypatch: pytest.MonkeyPatch) -> MissingData:
    """All but the worth of measuring, which needs a bundle."""
    monkeypatch.setattr("training.validation.missing._worth", lambda *_: ())
    return sensitivity(held, demonstration.bundle())


def test_nothing_missing_is_said() -> None:
    _, whole = holed(0.3)
    found = sensitivity(whole, demonstration.bundle())
    assert (found.with_holes, found.reason, found.ways) == (0, "nothing is missing", ())


def test_draws_with_the_outcome_give_back_what_complete_data_say(monkeypatch: pytest.MonkeyPatch) -> None:
    held, whole = holed(0.3)
    found = without_bundle(held, monkeypatch)
    assert whole.fitted.coefficients is not None
    for each, true in zip(found.coefficients, whole.fitted.coefficients, strict=True):
        assert each.drawn is not None
        assert each.drawn_error is not None
        assert each.drawn == pytest.approx(true, abs=1.5 * each.drawn_error)
    of_a, of_b = found.coefficients
    assert of_a.lacking == pytest.approx(0.3, abs=0.05)
    assert of_b.lacking == 0.0
    assert of_a.information is not None
    assert of_a.information > 0.05


def test_what_is_not_known_makes_effects_less_sure(monkeypatch: pytest.MonkeyPatch) -> None:
    held, whole = holed(0.4)
    found = without_bundle(held, monkeypatch)
    complete = whole.fitted.posterior
    assert complete is not None
    assert found.coefficients[0].drawn_error is not None
    assert found.coefficients[0].drawn_error > complete.sd[1]


def test_every_child_is_drawn_on_its_own() -> None:
    held, _ = holed(0.3)
    fits = _drawn_fits(held)
    gone = np.isnan(held.cohort.cases["a"].values)
    drawn = np.array([design.columns[gone, 0] for design, _ in fits])
    assert len(fits) == DRAWS
    assert (drawn.std(axis=0) > 0.1).all()
    apart = np.corrcoef((drawn - drawn.mean(axis=0)).T)
    assert abs(apart[np.triu_indices_from(apart, 1)].mean()) < 0.05
    known = np.array([design.columns[~gone, 0] for design, _ in fits])
    assert np.ptp(known, axis=0).max() == 0.0


def test_pooling_is_by_rubins_rules() -> None:
    held, _ = holed(0.3)
    fits = _drawn_fits(held)
    posteriors = [fit.posterior for _, fit in fits if fit.posterior is not None]
    by_hand = combine([each.mean for each in posteriors], [each.sd**2 for each in posteriors], complete_df=797)
    assert np.array_equal(_pooled(held, fits).estimate, by_hand.estimate)
    assert np.array_equal(_pooled(held, fits).total, by_hand.total)


def test_the_complete_children_are_a_fit_of_their_own(monkeypatch: pytest.MonkeyPatch) -> None:
    held, _ = holed(0.3)
    found = without_bundle(held, monkeypatch)
    rows = ~np.isnan(held.cohort.cases["a"].values)
    alone = examined(held.cohort.take(rows), held.protocol)
    assert found.ways[2].children == int(rows.sum())
    assert alone.fitted.coefficients is not None
    assert [each.complete for each in found.coefficients] == pytest.approx(alone.fitted.coefficients, abs=1e-8)


def test_too_few_complete_children_give_a_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    held, _ = holed(0.0, count=200)
    values = held.cohort.cases["a"].values.copy()
    values[held.outcome.label == 1.0] = np.nan
    spoilt: Column = column(values)
    cases = held.cohort.cases.with_columns({"a": spoilt})
    found = without_bundle(examined(replace(held.cohort, cases=cases), held.protocol), monkeypatch)
    assert found.ways[2].c.value is None
    assert "at least 5 known events" in (found.ways[2].reason or "")
    assert all(each.complete is None for each in found.coefficients)


def test_measuring_narrows_the_interval_of_those_who_lack_it() -> None:
    found = validation().missing
    assert found.worth
    for each in found.worth:
        assert 0 < each.children <= 40
        assert 0.0 < each.width_if_measured < each.width_now < 1.0
