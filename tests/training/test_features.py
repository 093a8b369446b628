"""From protocol and cohort to columns, priors and moments."""

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.cases.table import State, column
from riskmodel.errors import FitRefused
from riskmodel.missing import Holds, complete
from riskmodel.terms import Levels, Linear, Product, Spline
from tests import demonstration
from training.features import FEWEST_CARRIERS, bounds, declare, learn
from training.features.build import KNOT_QUANTILES, quantile_knots
from training.outcome import at_horizon
from training.posterior import LEVEL, NUMBER
from training.protocol import Form, Predictor


def held() -> dict[str, object]:
    return {term.name: term.basis for term in declare(demonstration.cohort(), demonstration.protocol()).recipe.terms}


def test_each_form_becomes_its_basis() -> None:
    found = held()
    assert found["age_years"] == Linear(8.0, 1.0, (1.5, 18.0), log2=True)
    assert found["includes_occiput"] == Linear()
    assert isinstance(found["condition=down x not includes_occiput"], Product)
    assert list(found)[-1] == "condition=down x not includes_occiput"


def test_nested_levels_have_a_column_for_each_group_and_one_for_each_level() -> None:
    basis = held()["condition"]
    assert isinstance(basis, Levels)
    indicators = {indicator.name: set(indicator.members) for indicator in basis.indicators}
    assert "none" not in indicators
    assert {"down", "ehlers_danlos"} <= indicators["laxity"]
    assert indicators["down"] == {"down"}
    assert "non_syndromic" not in indicators


def test_blocks_share_scales_by_kind_of_column() -> None:
    declared = declare(demonstration.cohort(), demonstration.protocol())
    blocks = dict(
        zip(
            [term.name for term in declared.recipe.terms for _ in range(term.width)], declared.priors.block, strict=True
        )
    )
    assert blocks["age_years"] == NUMBER
    assert blocks["weaker_end_anchors"] == NUMBER
    assert blocks["condition"] == blocks["includes_occiput"] == blocks["reduces:states"] == LEVEL


def test_a_column_that_fewer_than_five_carry_is_not_learned() -> None:
    cohort = demonstration.cohort()
    declared = declare(cohort, demonstration.protocol())
    names = [(term.name, name) for term in declared.recipe.terms for name in term.basis.names]
    codes = cohort.dictionary.variables["condition"].codes
    told = cohort.cases["condition"].values[at_horizon(cohort, demonstration.protocol()).known]
    counts = np.bincount(told.astype(int), minlength=len(codes))
    for code, count in zip(codes, counts, strict=True):
        if ("condition", code) in names:
            assert declared.learned[names.index(("condition", code))] == (count >= FEWEST_CARRIERS), code


def test_only_children_of_known_outcome_count_as_carriers() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    names = [(term.name, name) for term in declare(cohort, protocol).recipe.terms for name in term.basis.names]
    codes = cohort.dictionary.variables["condition"].codes
    known = at_horizon(cohort, protocol).known
    carries = cohort.cases["condition"].values == codes.index("achondroplasia")
    assert np.count_nonzero(carries & known) >= FEWEST_CARRIERS
    # Of the carriers of known outcome four stay; all those whose outcome is not known stay as well.
    kept = cohort.take(~carries | ~known | (np.cumsum(carries & known) <= FEWEST_CARRIERS - 1))
    assert np.count_nonzero(kept.cases["condition"].values == codes.index("achondroplasia")) >= FEWEST_CARRIERS
    assert not declare(kept, protocol).learned[names.index(("condition", "achondroplasia"))]


def test_what_is_not_learned_keeps_its_prior_in_every_fit() -> None:
    design = demonstration.trained().design
    coefficients = demonstration.trained().fitted.coefficients
    assert coefficients is not None
    assert not design.learned.all()
    assert coefficients[~design.learned] == pytest.approx(design.priors.mean[~design.learned])


def test_the_moments_know_nothing_that_fewer_than_five_carry() -> None:
    cohort = demonstration.cohort()
    for block in declare(cohort, demonstration.protocol()).recipe.moments.blocks:
        column = cohort.cases[block.variable]
        for name in block.names:
            count = (
                np.count_nonzero(column.values == block.codes.index(name))
                if block.holds is Holds.LEVEL
                else np.count_nonzero(~column.present & ~column.missing)
            )
            assert count >= FEWEST_CARRIERS, (block.variable, name)


def test_columns_of_a_sample_use_its_own_moments_and_means() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    whole = learn(cohort, protocol)
    counts = np.bincount(np.random.default_rng(1).integers(0, len(cohort), len(cohort)), minlength=len(cohort))
    sample = learn(cohort, protocol, counts=counts.astype(float))
    expected = np.where(sample.learned, np.average(sample.columns, axis=0, weights=counts), 0.0)
    assert sample.column_means == pytest.approx(expected)
    lacking = whole.recipe.holes(cohort.cases)
    assert sample.columns[~lacking] == pytest.approx(whole.columns[~lacking])
    assert not np.allclose(sample.columns[lacking], whole.columns[lacking])


def test_the_outcome_takes_no_part_in_the_design() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    turned = replace(cohort, course=cohort.course.take(np.arange(len(cohort))[::-1]))
    assert np.array_equal(learn(cohort, protocol).columns, learn(turned, protocol).columns)


def test_knots_at_quantiles_are_rounded_and_those_declared_are_kept() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    free = replace(protocol, predictors=(Predictor("age_years", Form.SPLINE),), interactions=())
    basis = declare(cohort, free).recipe.terms[0].basis
    assert isinstance(basis, Spline)
    resolution = cohort.dictionary.variables["age_years"].resolution
    assert np.array(basis.knots) / resolution == pytest.approx(np.round(np.array(basis.knots) / resolution))
    fixed = replace(free, predictors=(Predictor("age_years", Form.SPLINE, knots=(2.0, 6.0, 12.0)),))
    kept = declare(cohort, fixed).recipe.terms[0].basis
    assert isinstance(kept, Spline)
    assert kept.knots == (2.0, 6.0, 12.0)


def test_flags_are_completed_as_combinations_that_children_had() -> None:
    """A mask is no amount: between 1 (the first flag) and 4 (the third) lies the second, which nobody may have had."""
    protocol = demonstration.protocol("fixation_failure_24m_long")
    cohort = demonstration.cohort("fixation_failure_24m_long")
    recipe = declare(cohort, protocol).recipe
    (block,) = (block for block in recipe.moments.blocks if block.variable == "planned_decompression")
    held = cohort.cases["planned_decompression"]
    masks, counts = np.unique(held.values[held.present], return_counts=True)
    assert {*block.names, block.rest} == {str(int(m)) for m, n in zip(masks, counts, strict=True) if n >= 5}
    empty = np.full(len(cohort), int(State.MISSING), dtype=np.int8)
    lacking = cohort.cases.with_columns({"planned_decompression": replace(held, states=empty)})
    filled = complete(lacking, recipe.moments, recipe.moments.mean_normals)["planned_decompression"]
    assert filled.present.all()
    assert set(filled.values) <= {float(mask) for mask in (*block.names, block.rest)}
    assert len(set(filled.values)) > 1


def test_no_knot_lies_further_out_than_five_children() -> None:
    held = column([0.3, 0.4, *np.linspace(2.0, 12.0, 60), 16.4, 17.9])
    assert quantile_knots(held, 0.1)[0] == bounds(held, 0.1)[0]  # type: ignore[index]
    assert quantile_knots(held, 0.1)[-1] == bounds(held, 0.1)[1]  # type: ignore[index]
    plain = np.quantile(held.values, KNOT_QUANTILES)
    assert plain[0] < quantile_knots(held, 0.1)[0] < quantile_knots(held, 0.1)[-1] < plain[-1]


def test_a_spline_with_too_few_distinct_knots_is_refused() -> None:
    cohort, protocol = demonstration.cohort(), demonstration.protocol()
    ages = replace(cohort.cases["age_years"], values=np.where(np.arange(len(cohort)) % 9 == 0, 9.0, 4.0))
    tied = replace(cohort, cases=replace(cohort.cases, columns={**cohort.cases.columns, "age_years": ages}))
    free = replace(protocol, predictors=(Predictor("age_years", Form.SPLINE),), interactions=())
    with pytest.raises(FitRefused, match=r"^the spline of age_years must stand on at least 3 distinct knots"):
        declare(tied, free)


def test_a_spline_of_an_ordinal_bends_all_over_its_steps() -> None:
    protocol = demonstration.protocol("fixation_failure_24m_long")
    cohort = demonstration.cohort("fixation_failure_24m_long")
    grades = replace(protocol, predictors=(Predictor("nurick_grade", Form.SPLINE),), interactions=())
    basis = declare(cohort, grades).recipe.terms[0].basis
    assert isinstance(basis, Spline)
    steps = len(cohort.dictionary.variables["nurick_grade"].codes)
    values = basis.columns(column(np.linspace(0.0, steps - 1.0, 201)))
    # As declared: orthogonal to the line, of SD 1, over the ordinal's own steps.
    line = np.column_stack([np.ones(201), values[:, 0]])
    assert line.T @ values[:, 1:] == pytest.approx(np.zeros((2, values.shape[1] - 1)), abs=1e-8)
    assert values[:, 1:].std(axis=0) == pytest.approx(np.ones(values.shape[1] - 1))


def test_bounds_lie_five_deep_and_are_rounded_outward() -> None:
    values = column([0.13, 0.27, 0.31, 0.44, 0.58, 1.0, 2.0, 3.07, 3.3, 3.4, 3.5, 9.9])
    assert bounds(values, 0.1) == (0.5, 3.1)
    assert bounds(values, 0.1, depth=1) == (0.1, 9.9)
    assert bounds(column([1.0, 2.0]), 0.1) is None
