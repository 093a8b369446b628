"""The closed test against generalised linear models fitted elsewhere, branch by branch."""

import csv
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.special import expit
from scipy.stats import chi2

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from tests.reference import FOLDER, reference
from training.updating.closed_test import Branch, ClosedTest, Comparison, Judge, Trial, closed_test, design, fitted
from training.updating.likelihood import Sample, fit, refuse_separation

VALUES = reference("g1_updating")  # R 4.2.2, stats::glm; procedure of Vergouwe and others 2017, from memory
MODELS = {
    "birthwt_full": ("age", "lwt", "race2", "race3", "smoke", "ptl", "ht", "ui"),
    "birthwt_3": ("lwt", "smoke", "ht"),
}
PAIRS = {
    (Branch.ORIGINAL, Branch.REFITTED): "test_original_vs_refit",
    (Branch.INTERCEPT, Branch.REFITTED): "test_intercept_vs_refit",
    (Branch.RECALIBRATED, Branch.REFITTED): "test_intslope_vs_refit",
}


def births() -> dict[str, Floats]:
    with (FOLDER / "data" / "update_birthwt94.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}


def rng() -> np.random.Generator:
    return np.random.default_rng(0)


def trial(name: str, shift: float = 0.0, slope: float = 1.0) -> Trial:
    """The 94 births of g1 under the model of the other 95, made wrong by `shift` and `slope` if wanted."""
    held, told = VALUES[name], births()
    columns = np.column_stack([told[column] for column in MODELS[name]])
    log_odds = np.array(held["lp"]) * slope + shift
    coefficients: Floats = np.linalg.lstsq(np.column_stack([np.ones(94), columns]), log_odds, rcond=None)[0][1:].astype(
        float
    )
    y = np.array(held["y"], dtype=float)
    return Trial(Sample(y, np.ones(94)), log_odds, columns, coefficients, np.zeros(94))


def numbers(found: ClosedTest) -> dict[tuple[Branch, Branch], Comparison]:
    return {(test.null, test.against): test for test in found.tests}


@pytest.mark.parametrize("name", MODELS)
def test_log_likelihoods_and_coefficients_equal_glm(name: str) -> None:
    held, expected = trial(name), VALUES[name]
    names = {"original": Branch.ORIGINAL, "intercept": Branch.INTERCEPT, "intercept_slope": Branch.RECALIBRATED}
    for key, branch in {**names, "refit": Branch.REFITTED}.items():
        assert fitted(held, branch).log_likelihood == pytest.approx(expected["loglik"][key], abs=1e-8), key
    level = fitted(held, Branch.INTERCEPT)
    assert level.coefficients[0] == pytest.approx(expected["intercept_update"], abs=1e-8)
    # glm stops one step earlier: its standard errors belong to the coefficients before the last step
    assert level.covariance[0, 0] ** 0.5 == pytest.approx(expected["intercept_update_se"], abs=1e-6)
    line = fitted(held, Branch.RECALIBRATED)
    assert line.coefficients == pytest.approx(
        [expected["slope_update"]["intercept"], expected["slope_update"]["slope"]], abs=1e-8
    )
    assert np.sqrt(np.diag(line.covariance)) == pytest.approx(expected["slope_update"]["se"], abs=1e-6)
    refit = fitted(held, Branch.REFITTED)
    assert refit.coefficients == pytest.approx(list(expected["refit_coef"].values()), abs=1e-7)


@pytest.mark.parametrize("name", MODELS)
def test_the_original_is_kept_by_the_same_test_as_in_glm(name: str) -> None:
    found = closed_test(trial(name), refit=True, rng=rng())
    assert found.chosen.value == VALUES[name]["selected_alpha05"] == "original"
    (test,) = found.tests
    expected = VALUES[name]["test_original_vs_refit"]
    assert test.statistic == pytest.approx(expected["chi2"], abs=1e-8)
    assert (test.degrees_of_freedom, test.judge) == (expected["df"], Judge.LIKELIHOOD_RATIO)
    assert test.p_value == pytest.approx(expected["p"], abs=1e-8)


def test_every_test_against_the_refit_equals_glm() -> None:
    """At a level of 1 nothing is kept, so that every test is made."""
    for name in MODELS:
        found = numbers(closed_test(trial(name), refit=True, rng=rng(), level=1.0))
        for pair, key in PAIRS.items():
            expected = VALUES[name][key]
            assert found[pair].statistic == pytest.approx(expected["chi2"], abs=1e-8)
            assert found[pair].degrees_of_freedom == expected["df"]
            assert found[pair].p_value == pytest.approx(expected["p"], abs=1e-8)


def test_without_a_refit_intercept_and_slope_are_kept_where_glm_keeps_them() -> None:
    found = closed_test(trial("birthwt_full"), refit=False, rng=rng())
    steps = VALUES["birthwt_full"]["stepwise_tests"]
    assert found.chosen is Branch.RECALIBRATED
    both = [test.statistic for test in found.tests]
    assert both == pytest.approx(
        [steps["orig_vs_intslope_U2df"]["chi2"], steps["intercept_vs_slope"]["chi2"]], abs=1e-8
    )
    assert [test.degrees_of_freedom for test in found.tests] == [2, 1]


def test_without_a_refit_the_original_is_kept_where_glm_keeps_it() -> None:
    found = closed_test(trial("birthwt_3"), refit=False, rng=rng())
    assert found.chosen is Branch.ORIGINAL
    expected = VALUES["birthwt_3"]["stepwise_tests"]["orig_vs_intslope_U2df"]
    assert found.tests[0].p_value == pytest.approx(expected["p"], abs=1e-8)


def glm(held: Trial, *columns: Floats) -> Any:
    """Source: statsmodels GLM, binomial, the model's log-odds as offset."""
    return sm.GLM(held.sample.y, np.column_stack(columns), family=sm.families.Binomial(), offset=held.log_odds).fit(
        tol=1e-12
    )


@pytest.mark.parametrize("refit", [False, True])
def test_a_model_that_is_wrong_on_average_only_gets_a_new_intercept(refit: bool) -> None:
    """Source of the statistics: statsmodels GLM, on the births with the model's log-odds moved by 1.3."""
    held = trial("birthwt_3", shift=-1.3)
    found = closed_test(held, refit=refit, rng=rng())
    assert found.chosen is Branch.INTERCEPT
    ones = np.ones(94)
    richest = glm(held, ones, held.columns) if refit else glm(held, ones, held.log_odds)
    original = float(held.sample.y @ held.log_odds - np.logaddexp(0, held.log_odds).sum())
    statistic = 2 * (richest.llf - original)
    assert found.tests[0].statistic == pytest.approx(statistic, abs=1e-7)
    assert found.tests[1].statistic == pytest.approx(2 * (richest.llf - glm(held, ones).llf), abs=1e-7)
    assert found.tests[0].p_value == pytest.approx(chi2.sf(statistic, 4 if refit else 2), abs=1e-7)


def test_a_model_of_something_else_is_fitted_anew() -> None:
    """Every step is rejected when the model's effects have the wrong signs and the cohort is large."""
    stream = np.random.default_rng(3)
    columns = stream.standard_normal((600, 3))
    y = (stream.random(600) < expit(-1 + columns @ [-0.2, 0.7, 1.1])).astype(float)
    original = np.array([0.9, -0.6, 0.35])
    held = Trial(Sample(y, np.ones(600)), -1 + columns @ original, columns, original, np.zeros(600))
    found = closed_test(held, refit=True, rng=rng())
    assert found.chosen is Branch.REFITTED
    assert [test.null for test in found.tests] == [Branch.ORIGINAL, Branch.INTERCEPT, Branch.RECALIBRATED]
    free = sm.GLM(y, sm.add_constant(columns), family=sm.families.Binomial()).fit(tol=1e-12)
    line = sm.GLM(y, sm.add_constant(held.log_odds), family=sm.families.Binomial()).fit(tol=1e-12)
    assert found.tests[2].statistic == pytest.approx(2 * (free.llf - line.llf), abs=1e-7)
    assert fitted(held, Branch.REFITTED).coefficients == pytest.approx(free.params, abs=1e-7)


def test_a_slope_held_against_a_refit_leaves_what_the_refit_leaves() -> None:
    """What cannot be estimated stays as it is in both: else the null is no case of the refit, and may even fit better.

    Source: statsmodels GLM with an offset.
    """
    stream = np.random.default_rng(3)
    columns, original = stream.standard_normal((300, 2)), np.array([0.8, -0.5])
    fixed = np.where(stream.random(300) < 0.15, 2.5, 0.0)
    y = (stream.random(300) < expit(-1 + 0.2 * (columns @ original + fixed))).astype(float)
    held = Trial(Sample(y, np.ones(300)), -1 + columns @ original + fixed, columns, original, fixed)
    last = closed_test(held, refit=True, rng=rng(), level=1.0).tests[2]
    assert (last.null, last.against, last.degrees_of_freedom) == (Branch.RECALIBRATED, Branch.REFITTED, 1)
    family = sm.families.Binomial()
    free = sm.GLM(y, sm.add_constant(columns), family=family, offset=fixed).fit(tol=1e-12)
    line = sm.GLM(y, sm.add_constant(columns @ original), family=family, offset=fixed).fit(tol=1e-12)
    assert last.statistic == pytest.approx(2 * (free.llf - line.llf), abs=1e-7)
    # A slope that turned everything fits these children better than the refit does: the gap would have been below 0.
    everything = sm.GLM(y, sm.add_constant(held.log_odds), family=family).fit(tol=1e-12)
    assert everything.llf > free.llf + 1.0


def test_with_weights_the_test_is_walds_with_a_sandwich() -> None:
    """Source: statsmodels GLM with frequency weights and cov_type HC0, its own wald_test."""
    held = trial("birthwt_3", shift=0.4)
    weights = np.random.default_rng(1).choice([1.0, 1.3, 2.0], 94)
    weighted = replace(held, sample=Sample(held.sample.y, weights))
    found = closed_test(weighted, refit=False, rng=rng(), level=1.0)
    assert [test.judge for test in found.tests] == [Judge.WALD] * 2
    y, constant = held.sample.y, sm.add_constant(held.log_odds)
    # HC0 in a weighted GLM squares the weights with the residuals, as it should
    line = sm.GLM(y, constant, family=sm.families.Binomial(), var_weights=weights).fit(cov_type="HC0", tol=1e-12)
    both = line.wald_test((np.eye(2), [0, 1]), scalar=True, use_f=False)
    slope = line.wald_test((np.eye(2)[1:], [1]), scalar=True, use_f=False)
    assert [test.statistic for test in found.tests] == pytest.approx([both.statistic, slope.statistic], rel=1e-6)
    assert [test.p_value for test in found.tests] == pytest.approx([both.pvalue, slope.pvalue], rel=1e-6)


def test_walds_null_of_a_refit_holds_exactly_where_the_model_is_the_fit() -> None:
    """A model that is its own refit lies at 0 from every null; a multiple of it, at 0 from that of a line."""
    held = trial("birthwt_3")
    weights = np.random.default_rng(1).choice([1.0, 1.3, 2.0], 94)
    sample = Sample(held.sample.y, weights)
    anew = fit(np.column_stack([np.ones(94), held.columns]), sample, np.zeros(94)).coefficients
    at = anew[0] + held.columns @ anew[1:]
    itself = Trial(sample, at, held.columns, anew[1:], np.zeros(94), simulate=lambda p, _: Sample(p, weights))
    found = closed_test(itself, refit=True, rng=rng(), level=1.0, draws=1)
    assert max(test.statistic for test in found.tests) == pytest.approx(0, abs=1e-10)
    double = Trial(sample, 0.3 + 2 * at, held.columns, 2 * anew[1:], np.zeros(94), simulate=itself.simulate)
    last = closed_test(double, refit=True, rng=rng(), level=1.0, draws=1).tests[2]
    assert last.statistic == pytest.approx(0, abs=1e-10)


def test_few_events_for_each_tested_parameter_call_for_the_bootstrap() -> None:
    held = trial("birthwt_full")
    weights = np.where(np.arange(94) % 2 == 0, 1.0, 1.5)

    def simulate(probability: Floats, stream: np.random.Generator) -> Sample:
        return Sample((stream.random(94) < probability).astype(float), weights)

    weighted = Trial(
        Sample(held.sample.y, weights), held.log_odds, held.columns, held.coefficients, held.fixed, simulate
    )
    found = closed_test(weighted, refit=True, rng=rng(), level=1.0, draws=19)
    # 31 events: enough for 3 parameters, not for 7, 8 or 9
    assert [(test.judge, test.draws) for test in found.tests] == [(Judge.BOOTSTRAP, 19)] * 3
    line = closed_test(weighted, refit=False, rng=rng(), level=1.0, draws=19)
    assert [test.judge for test in line.tests] == [Judge.WALD] * 2
    again = closed_test(weighted, refit=True, rng=rng(), level=1.0, draws=19)
    assert again == found


def test_a_model_without_spread_has_no_slope_to_move() -> None:
    held = trial("birthwt_3")
    flat = Trial(held.sample, np.full(94, -3.0), held.columns, np.zeros(3), np.zeros(94))
    found = closed_test(flat, refit=False, rng=rng())
    assert found.chosen is Branch.INTERCEPT
    assert [test.degrees_of_freedom for test in found.tests] == [1]


def test_separated_events_are_told_by_their_standard_errors() -> None:
    x = np.linspace(-1, 1, 40)
    sample = Sample((x > 0).astype(float), np.ones(40))
    columns = np.column_stack([np.ones(40), x])
    found = fit(columns, sample, np.zeros(40))
    assert found.log_likelihood == pytest.approx(0, abs=1e-3)
    with pytest.raises(FitRefused, match="separated from the rest by the predictors"):
        refuse_separation(found, columns)
    mixed = Sample((np.arange(40) % 3 == 0).astype(float), np.ones(40))
    refuse_separation(fit(columns, mixed, np.zeros(40)), columns)


def test_scores_sum_to_nothing_at_the_fit_and_the_information_is_their_slope() -> None:
    held = trial("birthwt_3")
    found = fitted(held, Branch.REFITTED)
    assert np.abs(found.scores.sum(axis=0)).max() < 1e-5
    columns = design(held, Branch.REFITTED)

    def slope(theta: Floats) -> Floats:
        return np.asarray(columns.T @ (held.sample.y - expit(columns @ theta)))

    step = 1e-5
    numeric = [
        (slope(found.coefficients + step * unit) - slope(found.coefficients - step * unit)) / (2 * step)
        for unit in np.eye(4)
    ]
    assert -np.array(numeric) == pytest.approx(found.information, rel=1e-5)
