"""Completing what was not measured from its conditional distribution."""

from statistics import NormalDist

import numpy as np
import pytest

from riskmodel.cases.table import CaseTable, State, column
from riskmodel.missing import MEAN_DRAWS, Block, Holds, Moments, balanced_normals, complete, coordinates, holes

AGE = Block("age", Holds.NUMBER, centre=8.0, scale=2.0)
WEIGHT = Block("weight", Holds.NUMBER, centre=20.0, scale=5.0)
RING = Block("ring", Holds.LEVEL, ("open", "absent"), "intact", ("intact", "open", "absent"))
COVARIANCE = np.array(
    [
        [1.0, 0.6, 0.1, 0.0],
        [0.6, 2.0, 0.2, 0.1],
        [0.1, 0.2, 0.2, -0.03],
        [0.0, 0.1, -0.03, 0.1],
    ]
)


def moments(normals: np.ndarray | None = None) -> Moments:
    blocks = (AGE, WEIGHT, RING)
    drawn = np.zeros((4, 3)) if normals is None else normals
    return Moments(blocks, np.array([0.5, -0.2, 0.3, 0.1]), COVARIANCE, drawn, balanced_normals(3))


def case(age: float, weight: float, ring: float) -> CaseTable:
    return CaseTable(("a",), {"age": column([age]), "weight": column([weight]), "ring": column([ring])})


def test_the_normals_of_the_mean_are_the_mid_quantiles_in_every_column() -> None:
    held = balanced_normals(5)
    expected = [NormalDist().inv_cdf((i + 0.5) / MEAN_DRAWS) for i in range(MEAN_DRAWS)]
    assert np.sort(held, axis=0) == pytest.approx(np.tile(np.array(expected)[:, None], 5))
    assert held.mean(axis=0) == pytest.approx(np.zeros(5), abs=1e-12)
    assert np.array_equal(held, balanced_normals(5))


def test_one_missing_number_takes_exactly_its_conditional_mean() -> None:
    """Source: the conditional mean of a multivariate normal (any handbook), written out with numpy."""
    held = moments()
    filled = complete(case(10.0, np.nan, 1.0), held, held.mean_normals)
    known, at = np.array([1.0 - 0.5, 1.0 - 0.3, 0.0 - 0.1]), [0, 2, 3]
    slope = COVARIANCE[1, at] @ np.linalg.inv(COVARIANCE[np.ix_(at, at)])
    expected = 20.0 + 5.0 * (-0.2 + slope @ known)
    assert filled["weight"].values.mean() == pytest.approx(expected, abs=1e-10)
    spread = COVARIANCE[1, 1] - slope @ COVARIANCE[1, at]
    first = expected + 5.0 * np.sqrt(spread) * held.mean_normals[:, 1]
    assert filled["weight"].values == pytest.approx(first)


def test_a_missing_level_is_drawn_whole_with_its_conditional_chance() -> None:
    many = np.random.default_rng(1).standard_normal((20_000, 3))
    filled = complete(case(8.0, 20.0, np.nan), moments(), many)
    at = [0, 1]
    slope = COVARIANCE[np.ix_([2, 3], at)] @ np.linalg.inv(COVARIANCE[np.ix_(at, at)])
    chance = np.array([0.3, 0.1]) + slope @ np.array([0.0 - 0.5, 0.0 + 0.2])
    shares = np.bincount(filled["ring"].values.astype(int), minlength=3) / 20_000
    assert shares == pytest.approx([1 - chance.sum(), *chance], abs=0.01)
    assert filled["ring"].present.all()


def test_holes_that_go_together_are_drawn_together() -> None:
    many = np.random.default_rng(2).standard_normal((20_000, 3))
    filled = complete(case(np.nan, np.nan, 0.0), moments(), many)
    drawn = np.column_stack([filled["age"].values, filled["weight"].values]) / [2.0, 5.0]
    at, out = [2, 3], [0, 1]
    slope = COVARIANCE[np.ix_(out, at)] @ np.linalg.inv(COVARIANCE[np.ix_(at, at)])
    expected = COVARIANCE[np.ix_(out, out)] - slope @ COVARIANCE[np.ix_(at, out)]
    assert np.cov(drawn.T) == pytest.approx(expected, abs=0.06)


def test_what_is_known_stays_as_it_is() -> None:
    held = moments()
    known = case(10.0, np.nan, 2.0)
    filled = complete(known, held, held.mean_normals)
    assert (filled["age"].values == 10.0).all()
    assert (filled["ring"].values == 2.0).all()
    assert len(filled) == MEAN_DRAWS


def test_drawn_numbers_stay_within_their_bounds() -> None:
    bounded = Block("weight", Holds.NUMBER, centre=20.0, scale=5.0, bounds=(19.0, 21.0))
    held = Moments((AGE, bounded, RING), np.zeros(4), COVARIANCE, np.zeros((4, 3)), balanced_normals(3))
    filled = complete(case(8.0, np.nan, 0.0), held, held.mean_normals)
    assert filled["weight"].values.min() == 19.0
    assert filled["weight"].values.max() == 21.0


STATE = Block("adi", Holds.STATE, ("not_measurable",), codes=("not_measurable",))
ADI = Block("adi", Holds.NUMBER, centre=4.0, scale=1.0)


def adi(values: list[float], states: list[int]) -> CaseTable:
    return CaseTable(tuple("abcde")[: len(values)], {"adi": column(values, states)})


def test_a_declared_state_is_kept_and_another_word_is_a_hole() -> None:
    cases = adi([np.nan, np.nan, 5.0], [State.NOT_MEASURABLE, State.NOT_TESTED, State.PRESENT])
    assert holes(cases, (STATE, ADI)).tolist() == [[False, False], [True, True], [False, False]]
    held = Moments((STATE, ADI), np.array([0.2, 1.0]), np.diag([0.16, 1.0]), np.zeros((4, 2)), balanced_normals(2))
    filled = complete(cases, held, held.mean_normals)["adi"]
    assert (filled.states[:MEAN_DRAWS] == State.NOT_MEASURABLE).all()
    drawn = filled.states[MEAN_DRAWS : 2 * MEAN_DRAWS]
    assert set(drawn.tolist()) == {State.PRESENT, State.NOT_MEASURABLE}
    assert np.mean(drawn == State.NOT_MEASURABLE) == pytest.approx(0.2, abs=1 / MEAN_DRAWS)
    assert np.isnan(filled.values[filled.states == State.NOT_MEASURABLE]).all()
    assert (filled.values[-MEAN_DRAWS:] == 5.0).all()


def test_a_state_that_too_few_carry_has_no_coordinate_and_is_kept_all_the_same() -> None:
    silent = Block("adi", Holds.STATE, (), codes=("not_measurable",))
    held = Moments((silent, ADI), np.array([1.0]), np.eye(1), np.zeros((4, 2)), balanced_normals(2))
    cases = adi([np.nan, np.nan, 5.0], [State.NOT_MEASURABLE, State.MISSING, State.PRESENT])
    filled = complete(cases, held, held.mean_normals)["adi"]
    assert (filled.states[:MEAN_DRAWS] == State.NOT_MEASURABLE).all()
    assert filled.values[MEAN_DRAWS : 2 * MEAN_DRAWS].mean() == pytest.approx(5.0)


def test_normals_of_each_cases_own_are_used_case_by_case() -> None:
    unknown, count = float("nan"), 40
    rng = np.random.default_rng(1)
    own = rng.standard_normal((count, 2, 3))
    values = [9.0 if i % 2 else unknown for i in range(count)]
    cases = CaseTable(
        tuple(str(i) for i in range(count)),
        {"age": column(values), "weight": column([unknown] * count), "ring": column([unknown] * count)},
    )
    together = complete(cases, moments(), own)
    for i in range(count):
        alone = complete(cases.take(np.array([i])), moments(), own[i])
        for name in ("age", "weight", "ring"):
            assert together[name].values[2 * i : 2 * i + 2] == pytest.approx(alone[name].values), (i, name)
    shared = complete(cases, moments(), own[0])
    repeated = complete(cases, moments(), np.tile(own[0], (count, 1, 1)))
    assert shared["weight"].values == pytest.approx(repeated["weight"].values)


def test_a_level_that_was_drawn_is_known_to_those_drawn_after_it() -> None:
    """Mean 1/2, variance 1/4, covariance 1/5: given the one yes or no, the other agrees nine times in ten."""
    blocks = tuple(Block(name, Holds.LEVEL, ("yes",), "no", ("no", "yes")) for name in ("a", "b"))
    covariance = np.array([[0.25, 0.2], [0.2, 0.25]])
    held = Moments(blocks, np.array([0.5, 0.5]), covariance, np.empty((0, 2)), np.empty((0, 2)))
    cases = CaseTable(("one",), {name: column([np.nan]) for name in ("a", "b")})
    normals = np.random.default_rng(3).standard_normal((4_000, 2))
    filled = complete(cases, held, normals)
    first, second = filled["a"].values, filled["b"].values
    assert first.mean() == pytest.approx(0.5, abs=0.03)
    assert (first == second).mean() == pytest.approx(0.9, abs=0.02)


def test_a_state_is_known_beside_a_value_and_unknown_beside_a_word_that_nobody_speaks_for() -> None:
    """A value says that no state holds: 0. Plain missing, and a word without a coordinate here, say nothing: NaN."""
    block = Block("adi", Holds.STATE, ("not_measurable",), codes=("not_measurable", "not_applicable"))
    states = [State.PRESENT, State.NOT_MEASURABLE, State.NOT_APPLICABLE, State.NOT_TESTED, State.MISSING]
    held = adi([4.0, np.nan, np.nan, np.nan, np.nan], [int(state) for state in states])
    np.testing.assert_array_equal(coordinates(held, [block])[:, 0], [0.0, 1.0, 0.0, np.nan, np.nan])
