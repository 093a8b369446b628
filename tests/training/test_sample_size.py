from typing import Any

import pytest

from tests.reference import reference
from training.sample_size import (
    Anticipated,
    Required,
    carried,
    children_to_judge_observed_expected,
    expected_shrinkage,
    highest_r2,
    required,
)

VALUES = reference("e1_sample_size")  # R 4.2.2, pmsampsize 1.1.3, which agrees with the formulas written out in R
GRID: list[dict[str, Any]] = VALUES["grid"]


def anticipated(point: dict[str, Any]) -> Anticipated:
    return Anticipated(point["prevalence"], point["csrsquared"])


def by_three(found: Required) -> int:
    """Criteria (i) to (iii) together, as papers before 2020 count."""
    return max(found.shrinkage, found.optimism, found.overall_risk)


@pytest.mark.parametrize("point", GRID)
def test_criteria_equal_pmsampsize(point: dict[str, Any]) -> None:
    # source: pmsampsize 1.1.3, ten points of a grid
    expects = anticipated(point)
    found = required(expects, point["parameters"], shrinkage=point["shrinkage"])
    assert (found.shrinkage, found.optimism, found.overall_risk) == tuple(point["criterion_n"].values())
    assert by_three(found) == point["n"]
    assert expects.highest_r2 == pytest.approx(point["max_r2"], abs=1e-12)
    assert expects.optimism_shrinkage == pytest.approx(point["by_hand"]["shrinkage_criterion2"], abs=1e-12)


@pytest.mark.parametrize("point", [point for point in GRID if point["parameters"] <= 30])
def test_mean_absolute_error_criterion_equals_the_formula_in_r(point: dict[str, Any]) -> None:
    # source: van Smeden et al. 2019 as printed in Riley et al., BMJ 2020, evaluated in R; coefficients from memory
    found = required(anticipated(point), point["parameters"]).absolute_error
    assert found is not None
    assert 0 <= found - point["criterion4_mape_n"] < 1


@pytest.mark.parametrize("example", VALUES["published"])
def test_published_examples(example: dict[str, Any]) -> None:
    # source: Riley et al., Statistics in Medicine 2019 (Chagas disease, 662); BMJ 2020 (pre-eclampsia; from memory)
    found = required(anticipated(example), example["parameters"])
    assert by_three(found) == example["n"]
    events_per_parameter = by_three(found) * example["prevalence"] / example["parameters"]
    assert events_per_parameter == pytest.approx(example["EPP"], abs=0.01)
    if "mape_n" in example:
        assert found.absolute_error == example["mape_n"]


@pytest.mark.parametrize(
    ("rate", "needed"),
    [
        (0.08, (406, 677, 1083, 1624, 2707)),
        (0.15, (301, 501, 801, 1201, 2002)),
        (0.25, (289, 419, 671, 1006, 1676)),
        (0.38, (363, 383, 613, 919, 1531)),
    ],
)
def test_table_for_a_nagelkerke_of_0_15(rate: float, needed: tuple[int, ...]) -> None:
    # source: the formulas of criteria (i) to (iii), worked through beforehand for 3, 5, 8, 12 and 20 parameters
    for parameters, children in zip((3, 5, 8, 12, 20), needed, strict=True):
        assert by_three(required(Anticipated.from_nagelkerke(rate), parameters)) == children


def test_carried_is_required_turned_round() -> None:
    for point in GRID:
        expects = anticipated(point)
        for parameters in (1, 4, 17):
            need = required(expects, parameters)
            assert need.absolute_error is not None
            assert (
                carried(expects, need.shrinkage).shrinkage
                >= parameters
                > carried(expects, need.shrinkage - 1).shrinkage
            )
            assert carried(expects, need.optimism).optimism >= parameters > carried(expects, need.optimism - 1).optimism
            enough = carried(expects, need.absolute_error).absolute_error
            assert enough >= parameters * (1 - 1e-12)
            assert carried(expects, need.overall_risk).overall_risk_known
            assert not carried(expects, need.overall_risk - 1).overall_risk_known


def test_a_cohort_that_does_not_know_its_own_rate_carries_nothing() -> None:
    # source: criterion (iii); 74 children at 38%, where 363 would be needed
    found = carried(Anticipated.from_nagelkerke(0.38), 74)
    assert not found.overall_risk_known
    assert found.shrinkage > 0
    assert required(Anticipated.from_nagelkerke(0.38), 1).overall_risk == 363


def test_127_children_at_15_in_100_carry_one_parameter() -> None:
    assert int(carried(Anticipated.from_nagelkerke(0.15), 127).shrinkage) == 1


def test_expected_shrinkage_is_the_target_at_the_required_size() -> None:
    for point in GRID:
        expects = anticipated(point)
        need = required(expects, point["parameters"])
        assert expected_shrinkage(expects, need.shrinkage, point["parameters"]) == pytest.approx(0.9, abs=1e-3)
    assert expected_shrinkage(expects, 100, 0) == 1


def test_expected_shrinkage_falls_with_parameters_down_to_its_floor() -> None:
    expects = Anticipated(0.15, 0.1)
    found = [expected_shrinkage(expects, 130, df) for df in (1, 5, 20, 80, 100_000)]
    assert found == sorted(found, reverse=True)
    assert found[-1] == pytest.approx(0.1)


def test_highest_r2_is_three_quarters_at_one_half() -> None:
    assert highest_r2(0.5) == pytest.approx(0.75)


def test_children_to_judge_observed_over_expected() -> None:
    # source: SE(log O/E) (Debray et al., BMJ 2017, from memory): about 2,180 children at 15% for -/+ 0.1
    assert children_to_judge_observed_expected(0.15) == pytest.approx(2180, abs=5)


def test_refusals_say_what_must_hold() -> None:
    with pytest.raises(ValueError, match="rate must lie between 0 and 1: found 1"):
        Anticipated(1.0, 0.1)
    with pytest.raises(ValueError, match="rate must lie between 0 and 1: found 0"):
        Anticipated.from_nagelkerke(0.0)
    with pytest.raises(ValueError, match=r"between 0 and 0\.571, the highest possible at a rate of 0\.15: found 0\.6"):
        Anticipated(0.15, 0.6)
    expects = Anticipated(0.15, 0.1)
    with pytest.raises(ValueError, match="at least 1 parameter: found 0"):
        required(expects, 0)
    with pytest.raises(ValueError, match=r"shrinkage must lie between the R-squared, 0\.1, and 1: found 1"):
        carried(expects, 100, shrinkage=1.0)
    with pytest.raises(ValueError, match="at least 1 child: found 0"):
        carried(expects, 0)
    with pytest.raises(ValueError, match="degrees of freedom at least 0"):
        expected_shrinkage(expects, 10, -1)
    with pytest.raises(ValueError, match="half width above 0"):
        children_to_judge_observed_expected(0.1, 0)


def test_mean_absolute_error_is_not_extrapolated() -> None:
    expects = Anticipated(0.15, 0.1)
    assert required(expects, 31).absolute_error is None
    assert carried(expects, 100_000).absolute_error == 30
