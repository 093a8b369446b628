"""How estimates stand to what happened, against other software, and when nothing is said."""

from dataclasses import replace

import numpy as np
import pytest

from tests.reference import reference
from tests.training.builders import PLAIN, cohort_of
from training.cohort import course
from training.metrics import FEWEST_EVENTS
from training.outcome import Outcome, at_horizon
from training.validation.standing import standing


def told(y: np.ndarray) -> Outcome:
    return at_horizon(cohort_of(course(y.astype(np.int8))), PLAIN)


def test_a_standing_equals_other_software() -> None:
    """Source: R 4.2.2, pROC and glm on fixed probabilities of birthwt (c1)."""
    values = reference("c1_external_validation")["birthwt"]
    y, p = np.array(values["y"], dtype=np.float64), np.array(values["p"])
    found = standing("birthwt", told(y), p, np.ones(len(y), dtype=np.bool_))
    auc, slope = values["auc"], values["calibration_slope"]
    assert found.c.value == pytest.approx(auc.get("auc", auc.get("value")), abs=1e-8)
    assert found.slope.value == pytest.approx(slope.get("slope", slope.get("value")), abs=1e-6)
    assert found.observed_expected.value == pytest.approx(y.mean() / p.mean(), abs=1e-10)
    assert found.c.low is not None
    assert found.c.low < found.c.value < (found.c.high or 0.0)  # type: ignore[operator]


def test_below_ten_events_nothing_is_said_but_the_counts() -> None:
    y = np.repeat([1.0, 0.0], [FEWEST_EVENTS - 1, 60])
    p = np.linspace(0.5, 0.1, len(y))
    everyone = np.ones(len(y), dtype=np.bool_)
    found = standing("few", told(y), p, everyone)
    assert (found.children, found.events) == (69, 9)
    for held in (found.c, found.observed_expected, found.slope):
        assert held.value is None
        assert held.reason == "too few to say: 9 events and 60 without, 10 of each are needed"
    ratio = standing("few", told(y), p, everyone, always_ratio=True)
    assert ratio.observed_expected.value == pytest.approx(y.mean() / p.mean())
    assert ratio.c.value is None


def test_without_any_event_the_ratio_has_a_reason() -> None:
    found = standing("none", told(np.zeros(30)), np.full(30, 0.1), np.ones(30, dtype=np.bool_), always_ratio=True)
    assert found.observed_expected.value is None
    assert found.observed_expected.reason == "no event among the children whose outcome is known"


def test_children_outside_the_part_do_not_matter() -> None:
    rng = np.random.default_rng(1)
    y, p = (rng.random(200) < 0.4).astype(np.float64), rng.random(200)
    rows = np.arange(200) < 120
    other = replace(told(y), label=np.where(rows, y, 1.0 - y), status=np.where(rows, y, 1.0 - y).astype(np.int8))
    assert standing("part", told(y), p, rows) == standing("part", other, p, rows)
