from typing import Any

import numpy as np
import pytest
from scipy.special import expit

from riskmodel.errors import FitRefused
from tests.reference import reference
from training.meta import Heterogeneity, random_effects

VALUES = reference("h1_meta")  # R 4.2.2, metafor 3.8.1, rma(yi, vi, method = ...)
SETS = ("logit_auc", "citl")


def both(name: str) -> tuple[list[float], Any]:
    values = VALUES[name]
    return values["yi"], np.sqrt(values["vi"])


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize(("heterogeneity", "tolerance"), [(Heterogeneity.DL, 1e-9), (Heterogeneity.REML, 1e-6)])
def test_pooled_numbers_equal_metafor(name: str, heterogeneity: Heterogeneity, tolerance: float) -> None:
    # source: metafor 3.8.1, test = "z" for the usual error, "knha" for Hartung-Knapp; its prediction interval with
    # Hartung-Knapp has k - 1 degrees of freedom. REML there stops at a change of 1e-5 in tau2, hence 1e-6.
    expected = VALUES[name]["methods"][heterogeneity.name]
    found = random_effects(*both(name), heterogeneity=heterogeneity)
    for ours, theirs in {
        "mean": "mu",
        "standard_error": "se",
        "tau2": "tau2",
        "q": "Q",
        "q_p_value": "Qp",
        "hartung_knapp_error": "hk_se",
    }.items():
        assert getattr(found, ours) == pytest.approx(expected[theirs], abs=tolerance), ours
    assert 100 * found.i2 == pytest.approx(expected["I2"], abs=100 * tolerance)
    assert (found.low, found.high) == pytest.approx(expected["hk_ci95"], abs=10 * tolerance)
    prediction = found.prediction_low, found.prediction_high
    assert prediction == pytest.approx(expected["hk_pi95_df_k_minus_1"], abs=10 * tolerance)


@pytest.mark.parametrize("name", SETS)
def test_floor_on_hartung_knapp_equals_metafor(name: str) -> None:
    # source: metafor 3.8.1, test = "adhoc"
    expected = VALUES[name]["methods"]["REML"]
    found = random_effects(*both(name), never_below_normal=True)
    assert found.hartung_knapp_error == pytest.approx(expected["hk_adhoc_se"], abs=1e-6)
    assert (found.low, found.high) == pytest.approx(expected["hk_adhoc_ci95"], abs=1e-5)


def test_pooled_c_comes_back_from_the_logit() -> None:
    # source: metafor 3.8.1, REML with Hartung-Knapp, back-transformed
    expected = VALUES["logit_auc"]["back_transformed_REML"]
    found = random_effects(*both("logit_auc"))
    assert expit(found.mean) == pytest.approx(expected["auc"], abs=1e-6)
    assert expit([found.low, found.high]) == pytest.approx(expected["ci95_hk"], abs=1e-6)


def test_reml_estimate_is_at_the_top_of_its_likelihood() -> None:
    y, errors = (np.asarray(values) for values in both("citl"))
    tau2 = random_effects(y, errors).tau2

    def restricted(tau2: float) -> float:
        weights = 1 / (errors**2 + tau2)
        mean = weights @ y / weights.sum()
        return float(np.log(weights).sum() - np.log(weights.sum()) - weights @ (y - mean) ** 2) / 2

    top = restricted(tau2)
    assert all(restricted(tau2 * factor) < top for factor in (0.5, 0.99, 1.01, 2))


@pytest.mark.parametrize("heterogeneity", Heterogeneity)
def test_centres_that_agree_have_no_variance_between_them(heterogeneity: Heterogeneity) -> None:
    found = random_effects([0.5, 0.5, 0.5], [0.1, 0.2, 0.3], heterogeneity=heterogeneity)
    assert (found.tau2, found.i2, found.q) == pytest.approx((0, 0, 0), abs=1e-12)
    assert found.mean == pytest.approx(0.5)
    assert found.hartung_knapp_error == pytest.approx(0, abs=1e-12)
    floored = random_effects([0.5, 0.5, 0.5], [0.1, 0.2, 0.3], heterogeneity=heterogeneity, never_below_normal=True)
    assert floored.hartung_knapp_error == floored.standard_error


def test_moving_and_stretching_the_scale_moves_and_stretches_the_answer() -> None:
    y, errors = (np.asarray(values) for values in both("citl"))
    here, there = random_effects(y, errors), random_effects(3 * y - 1, 3 * errors)
    assert there.mean == pytest.approx(3 * here.mean - 1, abs=1e-10)
    assert there.tau2 == pytest.approx(9 * here.tau2, rel=1e-8)
    assert there.prediction_high == pytest.approx(3 * here.prediction_high - 1, abs=1e-8)


def test_prediction_interval_holds_the_interval_of_the_mean() -> None:
    found = random_effects(*both("citl"))
    assert found.prediction_low < found.low < found.mean < found.high < found.prediction_high


def test_refusals_say_what_must_hold() -> None:
    with pytest.raises(FitRefused, match="at least 2 with an estimate: found 1"):
        random_effects([0.5], [0.1])
    with pytest.raises(ValueError, match=r"of one length: found \(2,\) and \(1,\)"):
        random_effects([0.5, 0.6], [0.1])
    with pytest.raises(ValueError, match="leave such a centre out"):
        random_effects([0.5, np.nan], [0.1, 0.1])
    with pytest.raises(ValueError, match="leave such a centre out"):
        random_effects([0.5, 0.6], [0.1, 0.0])
    with pytest.raises(ValueError, match="level must lie between 0 and 1"):
        random_effects([0.5, 0.6], [0.1, 0.1], level=95)
