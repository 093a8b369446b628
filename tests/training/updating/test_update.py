"""Updates, branch by branch: what the new bundle holds, and what it still owes to its parent."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest
import statsmodels.api as sm

from riskmodel.bundle import Bundle, Use
from riskmodel.errors import FitRefused, OutcomeRefused
from tests import demonstration
from tests.training.builders import defined_in_vain
from tests.training.updating import worlds
from training.candidates import draws
from training.cohort import course
from training.features.declare import carriers
from training.updating import Method, Updated, check_elsewhere, children, noted, update
from training.updating.closed_test import Branch, Judge

ON = date(2027, 3, 1)


def moved(bundle: Bundle, shift: float = 0.0, slope: float = 1.0) -> Bundle:
    """The bundle with all log-odds multiplied and shifted: a model that is wrong in a known way."""
    draws = bundle.draws * slope
    draws[:, 0] += shift
    return replace(
        bundle, intercept=slope * bundle.intercept + shift, coefficients=slope * bundle.coefficients, draws=draws
    )


@cache
def done(shift: float = 0.0, slope: float = 1.0, method: Method = Method.CLOSED_TEST, children_: int = 220) -> Updated:
    protocol = demonstration.protocol(worlds.REVISION)
    cohort = worlds.others() if children_ == 220 else worlds.others(5, children_)
    return update(moved(worlds.model(), shift, slope), protocol, cohort, on=ON, method=method, draws=99)


def test_a_model_that_is_not_contradicted_is_kept_as_it_was() -> None:
    found = done()
    before, after = found.children.bundle, worlds.written(found.bundle)
    assert found.chosen == "original"
    assert found.test is not None
    assert found.test.tests[0].judge is Judge.BOOTSTRAP
    for name in ("intercept", "signal", "cohort_rate", "performance", "use", "ranges", "support", "cohort"):
        assert getattr(after, name) == getattr(before, name), name
    assert (after.draws == before.draws).all()
    assert after.parents == (before.digest,)
    assert after.updates[-1].moved == ()
    assert "nothing was learned" in after.updates[-1].interval


def test_a_kept_model_keeps_its_checks_and_a_changed_one_does_not() -> None:
    protocol, cohort = demonstration.protocol(worlds.REVISION), worlds.others()
    checked = worlds.written(noted(check_elsewhere(worlds.model(), protocol, cohort, on=ON, times=20), use_local=True))
    kept = update(checked, protocol, cohort, on=ON, draws=99).bundle
    assert (kept.use, len(kept.local_checks)) == (Use.LOCAL, 1)
    assert kept.parents == (*checked.parents, checked.digest)
    changed = update(moved(checked, -1.3), protocol, cohort, on=ON, draws=99).bundle
    assert (changed.use, changed.local_checks) == (Use.STUDY, ())


def test_a_model_wrong_on_average_is_brought_to_the_level_of_these_children() -> None:
    found = done(-1.3)
    assert found.chosen == "intercept"
    after = children(worlds.written(found.bundle), found.children.protocol, found.children.cohort)
    weights = after.outcome.weight
    assert weights @ (after.outcome.label - after.probability) == pytest.approx(0, abs=1e-4)
    assert after.bundle.coefficients == pytest.approx(worlds.model().coefficients)
    note = after.bundle.updates[-1]
    assert [each.what for each in note.moved] == ["intercept"]
    assert note.moved[0].after == pytest.approx(after.bundle.intercept, rel=1e-6)
    assert (note.children, note.events) == (215, 15)
    assert len(note.tests) == 2
    assert "against intercept and slope" in note.tests[0]
    assert [held.term for held in after.bundle.stability] == [held.term for held in worlds.model().stability]


def test_estimates_that_are_too_extreme_are_drawn_together() -> None:
    found = done(slope=3.0, children_=900)
    assert found.chosen == "intercept and slope"
    after = found.bundle
    factor = {each.what: each.after for each in after.updates[-1].moved}["factor of every coefficient"]
    assert after.coefficients == pytest.approx(factor * 3.0 * worlds.model().coefficients)
    assert factor == pytest.approx(1 / 3, abs=0.2)
    held = children(after, found.children.protocol, found.children.cohort)
    check = check_elsewhere(after, held.protocol, held.cohort, on=ON, times=20).performance.measures
    assert check["slope"].value == pytest.approx(1, abs=1e-4)
    assert check["citl"].value == pytest.approx(0, abs=1e-4)


def test_a_refit_is_tried_only_where_the_size_of_the_cohort_allows_it() -> None:
    """Source of the coefficients: statsmodels GLM on the children of the update. Repeating children changes no fit."""
    bundle, protocol, cohort = worlds.halves()
    many = cohort.take(np.tile(np.arange(len(cohort)), 40))
    few, found = (update(moved(bundle, slope=-1.0), protocol, held, on=ON) for held in (cohort, many))
    assert not few.advice.refit
    assert few.test is not None
    assert Branch.REFITTED not in {test.against for test in few.test.tests}
    assert found.advice.refit
    assert found.chosen == "refit"
    held = found.children
    theirs = sm.GLM(held.outcome.label, sm.add_constant(held.columns), family=sm.families.Binomial()).fit(tol=1e-12)
    after = found.bundle
    assert [after.intercept, *after.coefficients] == pytest.approx(theirs.params, abs=1e-6)
    assert after.draws.std(axis=0) == pytest.approx(theirs.bse, rel=0.15)
    assert after.draws.mean(axis=0) == pytest.approx(theirs.params, abs=1e-6)
    assert after.column_means == pytest.approx(held.columns.mean(axis=0))
    assert after.stability == ()
    assert after.cohort["children"] == "at least 1600"
    assert "inverse of its information" in after.updates[-1].interval
    told = after.updates[-1].facts
    assert told.startswith("everything is of these children, but")
    assert "what completes missing values, and the advice on the size of a cohort, which are of the parent's" in told
    # In the words of the card, not in codes.
    assert not any("_" in each.what for each in after.updates[-1].moved)
    assert (after.moments, after.advice) == (bundle.moments, bundle.advice)


def test_the_parents_beliefs_move_as_far_as_the_children_move_them() -> None:
    found = done(method=Method.PRIOR)
    assert found.test is None
    after, before = worlds.written(found.bundle), found.children.bundle
    cohort, protocol = found.children.cohort, found.children.protocol
    carried = carriers(cohort.take(found.children.outcome.known), protocol, before.terms) >= 5
    assert (carried != (carriers(cohort, protocol, before.terms) >= 5)).any(), "no column tells the two apart"
    assert (after.coefficients[carried] != before.coefficients[carried]).all()
    assert (after.coefficients[~carried] == before.coefficients[~carried]).all()
    assert 5 < carried.sum() < len(carried)
    assert after.draws.shape == before.draws.shape
    assert after.use is Use.STUDY
    assert "like cases are of both cohorts" in after.updates[-1].facts
    assert after.cohort == before.cohort
    assert after.cohort_rate != before.cohort_rate
    cells = {cell.codes: cell.at_least for cell in before.support[0].cells}
    for cell in after.support[0].cells:
        assert cell.at_least % 5 == 0
        assert cell.at_least >= cells.get(cell.codes, 0)
    for name, (low, high) in before.ranges.numbers.items():
        assert after.ranges.numbers[name][0] <= low
        assert after.ranges.numbers[name][1] >= high


def test_intervals_of_an_update_are_no_narrower_than_what_was_learned_allows() -> None:
    """Another hospital's beliefs, discounted, and few children: wider than the parent on the parent's own children."""
    found = done(method=Method.PRIOR)
    parent, columns = found.children.bundle, found.children.columns
    spans = [np.subtract(*bundle.model.interval(columns)[::-1]).mean() for bundle in (parent, found.bundle)]
    assert spans[1] > 0.9 * spans[0]


def test_a_model_that_shows_the_rate_gets_the_rate_of_these_children() -> None:
    protocol, cohort = demonstration.protocol(worlds.REVISION), worlds.others()
    silent = replace(worlds.model(), signal=False, cohort_rate=0.4)
    found = update(silent, protocol, cohort, on=ON, draws=99)
    assert found.chosen == "intercept"
    held = children(found.bundle, protocol, cohort)
    rate = held.outcome.label @ held.outcome.weight / held.outcome.weight.sum()
    assert held.probability == pytest.approx(rate)
    assert found.test is not None
    assert [test.degrees_of_freedom for test in found.test.tests] == [1]


def test_a_model_that_found_no_signal_is_no_prior() -> None:
    """Its draws have the scales that were held beforehand: as a prior they would let a few children be overfitted."""
    trained = demonstration.trained(worlds.REVISION)
    silent = replace(trained.fitted, gain=0.0)
    wide = draws(trained.design, silent, 400, np.random.default_rng(1), signal=False)
    assert np.median(wide.std(axis=0) / worlds.model().draws.std(axis=0)) > 1.2
    protocol, cohort = demonstration.protocol(worlds.REVISION), worlds.others()
    bundle = replace(worlds.model(), signal=False, draws=wide)
    with pytest.raises(FitRefused, match=r"this one found no signal.*accepted: --method closed_test, or a fit"):
        update(bundle, protocol, cohort, on=ON, method=Method.PRIOR)
    assert update(bundle, protocol, cohort, on=ON, draws=99).test is not None


def test_what_an_update_is_worth_is_measured_with_each_child_left_out() -> None:
    found = done(-1.3)
    ratio = found.bundle.performance["measures"]["observed_expected"]["apparent"]
    assert ratio == pytest.approx(1, abs=0.05)
    assert ratio != pytest.approx(1, abs=1e-6)
    assert "left out" in found.bundle.performance["measures"]["c"]["reason"]


@pytest.mark.parametrize("method", list(Method))
def test_an_update_defines_what_it_holds(method: Method) -> None:
    told = done(-1.3, method=method).bundle.performance
    assert defined_in_vain(told) == set()
    assert "median" not in told["definitions"]["slope"], "no replay corrected it"


def test_the_review_is_counted_from_the_update() -> None:
    before, after = worlds.model(), done(-1.3).bundle
    assert after.released == ON
    assert after.review_by - after.released == before.review_by - before.released == timedelta(days=731)


def test_the_chain_of_parents_grows() -> None:
    first = worlds.written(done(-1.3).bundle)
    protocol, cohort = demonstration.protocol(worlds.REVISION), worlds.others()
    second = update(first, protocol, cohort, on=date(2028, 1, 1), method=Method.PRIOR).bundle
    assert second.parents == (*first.parents, first.digest)
    assert [held.method for held in second.updates] == ["closed_test", "prior"]
    assert second.updates[-1].parent == first.digest


def test_the_same_children_give_the_same_update() -> None:
    protocol = demonstration.protocol(worlds.REVISION)
    again = update(moved(worlds.model(), -1.3), protocol, worlds.others(), on=ON, draws=99)
    assert (again.bundle.draws == done(-1.3).bundle.draws).all()
    assert again.test == done(-1.3).test


def test_one_kind_of_outcome_or_too_few_events_are_refused_with_both_counts() -> None:
    bundle, protocol, cohort = worlds.halves()
    spared = cohort.take(np.flatnonzero(cohort.course.status == 0))
    with pytest.raises(OutcomeRefused, match="at least 5 known events and 5 known non-events; found 0 and 32"):
        update(bundle, protocol, spared, on=ON)
    events = np.flatnonzero(cohort.course.status == 1)
    few = replace(cohort, course=course(np.where(np.isin(np.arange(len(cohort)), events[:4]), 1, 0)))
    with pytest.raises(OutcomeRefused, match="found 4 and 36"):
        update(bundle, protocol, few, on=ON)
