"""Levels, slopes and inherited beliefs, held against other libraries and against what they must add up to."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.special import expit
from sklearn.linear_model import LogisticRegression

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from tests.reference import kyphosis, reference
from tests.training.updating import worlds
from training.cohort import Cohort
from training.updating import Children, children
from training.updating.left_out import left_out
from training.updating.levels import normal_draws, opposite_normals, recalibrated, slopes
from training.updating.likelihood import Gaussian, Sample, fit
from training.updating.prior import inherited
from training.updating.steps import step_from_prior

EVERY = np.ones(3, dtype=bool)


def rng() -> np.random.Generator:
    return np.random.default_rng(0)


def half() -> Children:
    return children(*worlds.halves())


def design(held: Children) -> Floats:
    return np.column_stack([np.ones(len(held)), held.columns])


def test_a_gaussian_prior_is_ridge() -> None:
    """Source: scikit-learn LogisticRegression, newton-cholesky, C = 1 / precision, no intercept."""
    columns, y = kyphosis()
    scaled = (columns - columns.mean(axis=0)) / columns.std(axis=0)
    theirs = LogisticRegression(C=0.5, fit_intercept=False, solver="newton-cholesky", tol=1e-12).fit(scaled, y)
    ours = fit(scaled, Sample(y, np.ones(81)), np.zeros(81), Gaussian(np.zeros(3), 2.0 * np.eye(3)))
    assert ours.coefficients == pytest.approx(theirs.coef_[0], abs=1e-6)


def test_repeated_rows_are_weights() -> None:
    columns, y = kyphosis()
    times = np.random.default_rng(1).integers(0, 4, 81)
    rows = np.repeat(np.arange(81), times)
    held = np.column_stack([np.ones(81), columns / 10])
    weighted = fit(held, Sample(y, times.astype(float)), np.zeros(81))
    repeated = fit(held[rows], Sample(y[rows], np.ones(len(rows))), np.zeros(len(rows)))
    assert weighted.coefficients == pytest.approx(repeated.coefficients, abs=1e-8)
    assert weighted.information == pytest.approx(repeated.information, rel=1e-8)


def test_opposite_normals_have_no_mean() -> None:
    drawn = opposite_normals(400, 3, rng())
    assert drawn.mean(axis=0) == pytest.approx(0, abs=1e-12)
    covariance = np.array([[1.0, 0.5], [0.5, 2.0]])
    held = normal_draws(np.array([3.0, -1.0]), covariance, 4000, rng())
    assert held.mean(axis=0) == pytest.approx([3, -1], abs=1e-12)
    assert np.cov(held.T) == pytest.approx(covariance, abs=0.12)


@pytest.mark.parametrize("weighted", [False, True])
def test_a_sure_parent_brought_to_a_level_is_as_unsure_as_that_level(weighted: bool) -> None:
    """Source: statsmodels GLM, intercept alone, the parent's log-odds as offset; HC0 with weights."""
    held = half()
    y = held.outcome.label
    weights = rng().choice([1.0, 1.5], len(y)) if weighted else np.ones(len(y))
    sure = np.tile(np.concatenate([[held.bundle.intercept], held.bundle.coefficients]), (4000, 1))
    drawn = recalibrated(sure, held.columns, Sample(y, weights), np.ones(4000), rng())
    model = sm.GLM(y, np.ones(len(y)), family=sm.families.Binomial(), offset=held.log_odds, var_weights=weights)
    found = model.fit(cov_type="HC0" if weighted else "nonrobust", tol=1e-12)
    assert drawn[:, 0].mean() == pytest.approx(held.bundle.intercept + found.params[0], abs=1e-6)
    assert drawn[:, 0].std() == pytest.approx(found.bse[0], rel=0.04)
    assert (drawn[:, 1:] == sure[:, 1:]).all()


def test_every_draw_expects_as_many_events_as_there_were() -> None:
    """But for the level's own error: each draw lies about the level at which it is right on average by itself."""
    held = half()
    sample = Sample(held.outcome.label, np.ones(len(held)))
    turned = np.linspace(0.5, 1.5, len(held.bundle.draws))
    drawn = recalibrated(held.bundle.draws, held.columns, sample, turned, rng())
    scaled = held.bundle.draws * turned[:, None]
    assert drawn[:, 1:] == pytest.approx(scaled[:, 1:])
    level, error = drawn[:, 0] - scaled[:, 0], []
    for k in range(0, len(drawn), 7):
        own = scaled[k, 0] + held.columns @ scaled[k, 1:]
        found = fit(np.ones((len(held), 1)), sample, own)
        error.append((level[k] - found.coefficients[0]) / found.covariance[0, 0] ** 0.5)
    assert np.mean(error) == pytest.approx(0, abs=0.4)
    assert 0.6 < np.std(error) < 1.4


def test_slopes_are_drawn_about_their_estimate() -> None:
    held = half()
    sample = Sample(held.outcome.label, np.ones(len(held)))
    line = fit(np.column_stack([np.ones(len(held)), held.log_odds]), sample, np.zeros(len(held)))
    drawn = slopes(line, sample, 4000, rng())
    theirs = sm.GLM(sample.y, sm.add_constant(held.log_odds), family=sm.families.Binomial()).fit()
    assert drawn.mean() == pytest.approx(theirs.params[1], abs=1e-6)
    assert drawn.std() == pytest.approx(theirs.bse[1], rel=0.04)


def test_a_parent_that_is_worth_nothing_leaves_the_children_to_themselves() -> None:
    """Source: statsmodels GLM on the other half alone."""
    held = half()
    alone = sm.GLM(held.outcome.label, design(held), family=sm.families.Binomial()).fit(tol=1e-12)
    found = step_from_prior(held, EVERY, 1e7, rng())
    assert [found.intercept, *found.coefficients] == pytest.approx(alone.params, rel=1e-3)


def test_a_parent_and_its_update_are_worth_both_halves() -> None:
    """Source: stats::glm on all 81 children (a1): half the data as a prior and half as data are all the data, nearly.

    The parent's posterior is Gaussian by approximation and known from 400 draws, so the agreement is to a fraction of
    the standard error.
    """
    expected = reference("a1_kyphosis_glm")
    found = step_from_prior(half(), EVERY, 1.0, rng())
    errors = np.array(list(expected["se"].values()))
    whole = np.array(list(expected["coef"].values()))
    assert np.abs(np.array([found.intercept, *found.coefficients]) - whole).max() > 0
    assert (np.abs(np.array([found.intercept, *found.coefficients]) - whole) < 0.6 * errors).all()
    assert found.draws.std(axis=0) == pytest.approx(errors, rel=0.3)


def test_a_parent_is_believed_as_much_as_it_believes_itself() -> None:
    """A Gaussian posterior of known precision, told by as many draws as a bundle holds: the prior has that precision.

    Without the correction it would be 200 / (200 - 31) of it on average.
    """
    stream = np.random.default_rng(2)
    mixing = stream.standard_normal((30, 30)) / 6 + np.eye(30)
    covariance, everything = mixing @ mixing.T, np.ones(30, dtype=bool)
    bundle = half().bundle
    found = []
    for _ in range(40):
        drawn = normal_draws(np.zeros(30), covariance, 400, stream)
        told = replace(bundle, intercept=0.0, coefficients=np.zeros(29), draws=drawn)
        found.append(inherited(told, 1.0).of(everything).precision)
    ratio = np.trace(np.mean(found, axis=0) @ covariance) / 30
    assert ratio == pytest.approx(1.0, abs=0.02)


def test_the_discount_widens_and_moves_towards_the_children() -> None:
    held = half()
    own = sm.GLM(held.outcome.label, design(held), family=sm.families.Binomial()).fit(tol=1e-12).params[1:]
    found = [step_from_prior(held, EVERY, discount, rng()) for discount in (1.0, 4.0, 100.0)]
    away = [float(np.linalg.norm((step.coefficients - own) / own)) for step in found]
    width = [float(step.draws[:, 3].std()) for step in found]
    assert away == sorted(away, reverse=True)
    assert width == sorted(width)


def test_what_too_few_carry_keeps_the_parents_number() -> None:
    held = half()
    learned = np.array([True, False, True])
    found = step_from_prior(held, learned, 2.0, rng())
    parent = held.bundle
    assert found.coefficients[1] == parent.coefficients[1]
    assert (found.coefficients[learned] != parent.coefficients[learned]).all()
    spread = found.draws[:, 2] - parent.coefficients[1]
    assert spread == pytest.approx(np.sqrt(2.0) * (parent.draws[:, 2] - parent.coefficients[1]))


def test_a_bundle_of_few_draws_is_no_prior() -> None:
    bundle = worlds.model()
    with pytest.raises(FitRefused, match="draws to become a prior; found 100; accepted: --method closed_test"):
        inherited(replace(bundle, draws=bundle.draws[:100]), 2.0)


def test_left_out_is_nearly_what_refitting_without_each_child_gives() -> None:
    held = half()
    sample = Sample(held.outcome.label, np.ones(len(held)))
    columns, nothing = design(held)[:, [0, 1, 3]], np.zeros(len(held))
    found = fit(columns, sample, nothing)
    quick = left_out(columns, sample, nothing, found)
    exact = []
    for i in range(len(held)):
        weights = np.ones(len(held))
        weights[i] = 0.0
        exact.append(expit(columns[i] @ fit(columns, Sample(sample.y, weights), nothing).coefficients))
    assert quick == pytest.approx(exact, abs=0.04)
    apparent = expit(columns @ found.coefficients)
    assert np.abs(quick - exact).mean() < 0.2 * np.abs(apparent - exact).mean()


def test_children_whose_outcome_is_not_known_move_nothing() -> None:
    bundle, protocol, cohort = worlds.halves()
    more: Cohort = cohort.take(np.concatenate([np.arange(len(cohort)), [0, 1, 2]]))
    held = children(bundle, protocol, more)
    weights = np.concatenate([np.ones(len(cohort)), np.zeros(3)])
    label = np.concatenate([held.outcome.label[: len(cohort)], [1.0, 1.0, 1.0]])
    both = fit(design(held), Sample(label, weights), np.zeros(len(held)))
    alone = half()
    assert both.coefficients == pytest.approx(
        fit(design(alone), Sample(alone.outcome.label, np.ones(len(alone))), np.zeros(len(alone))).coefficients
    )
