"""The account of an estimate: its lines, their ranges, and how often, over the replays, each had its sign."""

import numpy as np
import pytest

from riskmodel.scoring import Scorer
from tests.riskmodel.documents.builders import ON, bundle

SCORER = Scorer(bundle())
CASE = {"condition": "down", "reduces": "awake", "upper_level": "C1", "prior_cvj_surgery": 0}


@pytest.mark.parametrize(
    ("age_years", "raises", "share"),
    [
        (4.0, True, 0.9),  # one doubling under 8 years: 90% of the replays had the line above 0, as it is
        (16.0, False, 0.9),  # one above: 10% had it above 0, so that 90% had it below, as it is
        (8.0, True, 0.5),
        (5.656854249492381, True, 0.7),  # half-way between grid points
        (11.313708498984761, False, 0.7),
    ],
)
def test_the_share_of_replays_is_that_of_the_sign_that_the_line_has(
    age_years: float, raises: bool, share: float
) -> None:
    """By the bundle's own grid: 0.9 above 0 at one doubling under the centre, 0.1 at one above; straight between."""
    held = SCORER.score({**CASE, "age_years": age_years}, on=ON)
    (line,) = (part for part in held.contributions if part.term == "age_years")
    assert (line.log_odds > 0.0) is raises
    assert line.same_sign_share == pytest.approx(share, abs=1e-6)
    assert [part.same_sign_share for part in held.contributions if part.term != "age_years"] == [None] * 3


def test_the_range_of_a_line_holds_the_middle_of_what_the_draws_add_to_it() -> None:
    """By hand, of a case that lacks nothing: (column - its mean) times each draw's coefficient, sorted."""
    held, model = SCORER.score({**CASE, "age_years": 4.0}, on=ON), SCORER.model
    (line,) = (part for part in held.contributions if part.term == "age_years")
    added = np.sort((-1.0 - model.column_means[0]) * model.draws[:, 1])
    cut = len(added) // 20
    assert (line.low, line.high) == pytest.approx((added[cut], added[-1 - cut]), abs=1e-12)
    assert line.log_odds == pytest.approx((-1.0 - model.column_means[0]) * model.coefficients[0], abs=1e-12)


def test_a_state_stands_as_the_value_of_its_variable() -> None:
    held = SCORER.score({**CASE, "age_years": 4.0, "reduces": "not_tested"}, on=ON)
    (line,) = (part for part in held.contributions if part.variables == ("reduces",))
    variable = SCORER.bundle.dictionary.variables["reduces"]
    assert (line.label, line.value) == (variable.label, "not_tested")
