import numpy as np
import pytest
from scipy.special import expit

from tests.training.metrics.cases import EXTERNAL, external, invented
from training.metrics import estimates
from training.metrics.calibration import SEPARATED, Line, line
from training.metrics.sample import NO_EVENT, check
from training.metrics.uncertainty import AT_THE_END, Estimate, line_covariance


@pytest.mark.parametrize("name", EXTERNAL)
def test_standard_errors_equal_r(name: str) -> None:
    # source: R 4.2.2, glm's standard errors (its own iteration leaves about 1e-8), pROC 1.18.0 for the variance of c,
    # sqrt((1 - O) / (n O)) for log O/E (Debray et al., BMJ 2017, from memory)
    y_obs, y_prob, expected = external(name)
    found = estimates(y_obs, y_prob)
    assert found.citl.standard_error == pytest.approx(expected["calibration_in_the_large"]["se"], abs=1e-7)
    assert found.citl.interval() == pytest.approx(expected["calibration_in_the_large"]["wald_ci95"], abs=1e-7)
    assert found.slope.standard_error == pytest.approx(expected["calibration_slope"]["slope_se"], abs=1e-7)
    assert found.slope.interval() == pytest.approx(expected["calibration_slope"]["wald_ci95"], abs=1e-6)
    assert found.log_observed_expected.standard_error == pytest.approx(expected["OE"]["se_log"], abs=1e-12)
    interval = found.log_observed_expected.interval()
    assert interval is not None
    assert np.exp(interval) == pytest.approx(expected["OE"]["ci95"], rel=1e-4)  # R took 1.96
    of_c = found.logit_c.interval()
    assert of_c is not None
    assert expit(of_c) == pytest.approx(expected["auc"]["logit_ci95"], abs=1e-8)


@pytest.mark.parametrize("name", EXTERNAL)
def test_covariance_of_the_line_equals_r(name: str) -> None:
    # source: R 4.2.2, vcov(glm(y ~ qlogis(p), binomial)), itself true to about 1e-6 of its size
    y_obs, y_prob, expected = external(name)
    fit = line(check(y_obs, y_prob))
    assert isinstance(fit, Line)
    found = line_covariance(fit, y_obs, np.ones(len(y_obs)))
    assert found == pytest.approx(np.array(expected["calibration_slope"]["cov"]), rel=1e-6)


def test_sandwich_with_a_common_weight_does_not_depend_on_it() -> None:
    drawn = invented(1, n=200)
    twice, thrice = estimates(drawn.y_obs, drawn.y_prob, [2.0] * 200), estimates(drawn.y_obs, drawn.y_prob, [3.0] * 200)
    for name in ("logit_c", "log_observed_expected", "citl", "slope"):
        assert getattr(twice, name).standard_error == pytest.approx(getattr(thrice, name).standard_error, rel=1e-9)


def test_standard_errors_match_the_spread_over_resamples() -> None:
    drawn = invented(3, n=600)
    rng = np.random.default_rng(1)
    rows = rng.integers(0, 600, (300, 600))
    spread = {name: [] for name in ("logit_c", "log_observed_expected", "citl", "slope")}  # type: dict[str, list[float]]
    for row in rows:
        again = estimates(drawn.y_obs[row], drawn.y_prob[row], drawn.weights[row])
        for name, values in spread.items():
            values.append(getattr(again, name).value)
    found = estimates(drawn.y_obs, drawn.y_prob, drawn.weights)
    for name in ("logit_c", "citl", "slope"):  # E is fixed for log O/E, and moves with the resample
        assert getattr(found, name).standard_error == pytest.approx(np.std(spread[name]), rel=0.15)


def test_reasons_are_passed_on() -> None:
    perfect = estimates([0, 0, 1, 1], [0.1, 0.2, 0.3, 0.4])
    assert perfect.logit_c == Estimate(None, None, AT_THE_END)
    assert perfect.slope == Estimate(None, None, SEPARATED)
    assert perfect.slope.interval() is None
    none = estimates([0, 0, 0], [0.1, 0.2, 0.3])
    assert {e.reason for e in (none.logit_c, none.log_observed_expected, none.citl, none.slope)} == {NO_EVENT}
