import numpy as np
import pytest
from scipy.special import ndtri

from riskmodel.errors import FitRefused
from tests.reference import reference
from training.rubin import combine, combine_c

VALUES = reference("f1_multiple_imputation")  # R 4.2.2, mice 3.15.0


def test_rules_equal_mice() -> None:
    # source: mice 3.15.0, pool.scalar(Q, U, n = 96, k = 1)
    toy = VALUES["rubin_toy"]
    found = combine(toy["Q"], toy["U"], complete_df=toy["df_complete"])
    assert float(found.estimate) == pytest.approx(toy["mice_pool_scalar"]["qbar"], abs=1e-10)
    assert float(found.within) == pytest.approx(toy["mice_pool_scalar"]["ubar"], abs=1e-10)
    assert float(found.between) == pytest.approx(toy["mice_pool_scalar"]["b"], abs=1e-10)
    assert float(found.total) == pytest.approx(toy["mice_pool_scalar"]["t"], abs=1e-10)
    assert float(found.degrees_of_freedom) == pytest.approx(toy["mice_pool_scalar"]["df"], abs=1e-10)
    assert float(found.missing_information) == pytest.approx(toy["mice_pool_scalar"]["fmi"], abs=1e-10)
    assert float(found.missing_share) == pytest.approx(toy["lambda"], abs=1e-10)
    assert float(found.standard_error) == pytest.approx(toy["se"], abs=1e-10)
    assert float(found.p_value) == pytest.approx(toy["p_two_sided"], abs=1e-10)
    assert [float(end) for end in found.interval()] == pytest.approx(toy["ci95_t"], abs=1e-10)


def test_degrees_of_freedom_without_a_limit_are_rubins() -> None:
    # source: Rubin 1987, (m - 1) / lambda^2, evaluated in R
    toy = VALUES["rubin_toy"]
    found = combine(toy["Q"], toy["U"])
    assert float(found.degrees_of_freedom) == pytest.approx(toy["df_rubin1987"], abs=1e-10)


def test_pooled_coefficients_of_five_saved_imputations_equal_r() -> None:
    # source: R 4.2.2, glm on five saved imputations of birth weight, pooled by hand there
    saved = VALUES["exact_pool_of_5_saved_imputations"]
    found = combine(saved["Q"], saved["U"])
    for ours, theirs in {
        "estimate": "qbar",
        "within": "within",
        "between": "between",
        "total": "total",
        "missing_share": "lambda",
    }.items():
        expected = [saved[theirs][name] for name in saved["order"]]
        assert getattr(found, ours) == pytest.approx(expected, rel=1e-10), ours


def test_c_is_pooled_on_the_logit_scale() -> None:
    # source: R 4.2.2, by hand, SE by the delta method; the interval there is normal, ours has t
    toy = VALUES["auc_logit_pool_toy"]
    found = combine_c(toy["auc"], toy["se"])
    assert found.logit_c == pytest.approx(toy["pooled_logit"], abs=1e-10)
    assert found.logit_error**2 == pytest.approx(toy["total_var"], abs=1e-10)
    assert found.c == pytest.approx(toy["pooled_auc"], abs=1e-10)
    normal = 1 / (1 + np.exp(-(found.logit_c + np.array([-1, 1]) * ndtri(0.975) * found.logit_error)))
    assert normal == pytest.approx(toy["ci95_normal"], abs=1e-10)
    assert found.low < normal[0]
    assert found.high > normal[1]


def test_nothing_missing_leaves_the_analysis_as_it_is() -> None:
    found = combine([[1.0, 2.0]] * 5, [[0.1, 0.2]] * 5)
    assert found.estimate.tolist() == [1, 2]
    assert found.total == pytest.approx([0.1, 0.2])
    assert np.isinf(found.degrees_of_freedom).all()
    assert (found.missing_share == 0).all()
    low, high = found.interval()
    assert high - low == pytest.approx(2 * ndtri(0.975) * np.sqrt([0.1, 0.2]))
    limited = combine([[1.0, 2.0]] * 5, [[0.1, 0.2]] * 5, complete_df=50)
    assert limited.degrees_of_freedom == pytest.approx([50 * 51 / 53] * 2)


def test_degrees_of_freedom_never_exceed_those_of_the_complete_data() -> None:
    rng = np.random.default_rng(1)
    found = combine(rng.normal(size=(20, 30)), rng.uniform(0.5, 2, (20, 30)), complete_df=40)
    assert (found.degrees_of_freedom < 40).all()


def test_order_of_the_data_sets_does_not_matter() -> None:
    rng = np.random.default_rng(2)
    q, u = rng.normal(size=(7, 3)), rng.uniform(0.5, 2, (7, 3))
    assert combine(q[::-1], u[::-1]).total == pytest.approx(combine(q, u).total, abs=1e-12)


def test_refusals_say_what_must_hold() -> None:
    with pytest.raises(FitRefused, match="at least 2 completed data sets: found 1"):
        combine([1.0], [0.1])
    with pytest.raises(ValueError, match=r"of one shape: found \(2,\) and \(3,\)"):
        combine([1, 2], [0.1, 0.1, 0.1])
    with pytest.raises(ValueError, match="variances finite and above 0"):
        combine([1, 2], [0.1, 0])
    with pytest.raises(ValueError, match="complete_df must be above 0, or None for no limit: found 0"):
        combine([1, 2], [0.1, 0.1], complete_df=0)
    with pytest.raises(ValueError, match="strictly between 0 and 1"):
        combine_c([0.5, 1.0], [0.1, 0.1])
