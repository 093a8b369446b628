"""Terms: columns of complete cases."""

import numpy as np
import pytest

from riskmodel.cases.table import CaseTable, Column, State, column
from riskmodel.terms import (
    LevelColumn,
    Levels,
    Linear,
    Part,
    Product,
    Spline,
    States,
    Term,
    columns,
    slices,
    spline,
    truncated_powers,
)
from tests.reference import kyphosis, reference


def table(**held: Column) -> CaseTable:
    count = len(next(iter(held.values())).values)
    return CaseTable(tuple(map(str, range(count))), held)


def test_linear_clips_before_it_centres_and_scales() -> None:
    held = column([-1.0, 4.0, 6.0, 40.0])
    assert Linear(centre=4.0, scale=2.0, clip=(0.0, 12.0)).columns(held)[:, 0].tolist() == [-2.0, 0.0, 1.0, 4.0]


def test_log2_counts_doublings_from_the_centre() -> None:
    assert Linear(centre=8.0, log2=True, clip=(2.0, 16.0)).columns(column([1.0, 8.0, 16.0]))[:, 0].tolist() == [
        -2,
        0,
        1,
    ]


def test_a_state_stands_at_the_centre_of_the_number_and_has_a_column_of_its_own() -> None:
    held = column([6.0, np.nan], [State.PRESENT, State.NOT_MEASURABLE])
    assert Linear(centre=4.0).columns(held)[:, 0].tolist() == [2.0, 0.0]
    assert States(("not_measurable", "not_tested")).columns(held).tolist() == [[0.0, 0.0], [1.0, 0.0]]


def test_groups_and_levels_are_indicators_of_sets() -> None:
    basis = Levels(
        ("none", "down", "larsen", "sedc"), (LevelColumn("laxity", ("down", "larsen")), LevelColumn("down", ("down",)))
    )
    assert basis.columns(column([0.0, 1.0, 2.0, 3.0])).tolist() == [[0, 0], [1, 1], [1, 0], [0, 0]]


def test_products_multiply_and_negate() -> None:
    cases = table(condition=column([0.0, 1.0, 1.0]), occiput=column([0.0, 0.0, 1.0]))
    down = Part("condition", Levels(("none", "down"), (LevelColumn("down", ("down",)),)))
    term = Term(
        "down x not occiput", ("condition", "occiput"), Product((down, Part("occiput", Linear(), negated=True)))
    )
    assert term.columns(cases)[:, 0].tolist() == [0.0, 1.0, 0.0]


@pytest.mark.parametrize("demo", ["basis_demo", "basis_demo5"])
def test_truncated_powers_equal_hmisc(demo: str) -> None:
    """Source: Hmisc::rcspline.eval with norm = 2 (a2)."""
    expected = reference("a2_kyphosis_rcs")[demo]
    bends = truncated_powers(np.array(expected["x"]), expected["knots"])
    assert bends == pytest.approx(np.array(expected["basis"])[:, 1:], rel=1e-10, abs=1e-12)


def test_spline_columns_are_orthogonal_with_unit_spread_in_the_reference_population() -> None:
    population = np.linspace(0.0, 18.0, 201)
    held = spline([2.0, 6.0, 10.0, 15.0], population, centre=8.0, scale=2.0, clip=None).columns(column(population))
    assert held.shape == (201, 3)
    frame = np.column_stack([np.ones(201), held[:, 0]])
    assert frame.T @ held[:, 1:] == pytest.approx(np.zeros((2, 2)), abs=1e-9)
    assert held[:, 1:].std(axis=0) == pytest.approx([1.0, 1.0])


def test_a_spline_is_straight_beyond_its_outer_knots() -> None:
    basis = spline([2.0, 6.0, 10.0], np.linspace(0, 12, 50), centre=6.0, scale=1.0, clip=None)
    assert isinstance(basis, Spline)
    outside = basis.columns(column([20.0, 21.0, 22.0]))
    assert np.diff(outside, n=2, axis=0) == pytest.approx(np.zeros((1, 2)), abs=1e-9)


def test_columns_stand_side_by_side_in_the_order_of_the_terms() -> None:
    ages, _ = kyphosis()
    cases = table(age=column(ages[:, 0]), number=column(ages[:, 1]))
    terms = (Term("number", ("number",), Linear()), Term("age", ("age",), Linear(centre=10.0)))
    assert columns(terms, cases) == pytest.approx(np.column_stack([ages[:, 1], ages[:, 0] - 10.0]))
    assert [(term.name, span.start, span.stop) for term, span in slices(terms)] == [("number", 0, 1), ("age", 1, 2)]
    assert columns((), cases).shape == (81, 0)
