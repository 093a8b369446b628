"""The bias-reduced candidate, from protocol to probabilities."""

import numpy as np
import pytest

from tests.reference import KYPHOSIS, reference
from tests.training.candidates.studies import fitted
from training import cohort as cohorts
from training import protocol as protocols
from training.candidates import BiasReduced


def test_the_candidate_on_open_data_equals_r() -> None:
    """Source: R 4.2.2, brglm2 0.9, with the intercept of FLIC (b1)."""
    protocol = protocols.read(KYPHOSIS / "kyphosis.toml")
    found = fitted(BiasReduced(), cohorts.read(KYPHOSIS / "kyphosis.csv", protocol), protocol)
    expected = reference("b1_firth")["kyphosis"]
    assert found.coefficients is not None
    slopes = [expected["AS_mean"]["coef"][name] for name in ("Age", "Number", "Start")]
    scales = [variable.scale for variable in protocol.dictionary.variables.values() if variable.name != "Kyphosis"]
    assert found.coefficients / scales == pytest.approx(slopes, abs=1e-8)
    assert found.probability.mean() == pytest.approx(17 / 81, abs=1e-10)


def test_a_child_drawn_twice_is_the_child_in_two_rows() -> None:
    protocol = protocols.read(KYPHOSIS / "kyphosis.toml")
    cohort = cohorts.read(KYPHOSIS / "kyphosis.csv", protocol)
    counts = np.random.default_rng(5).multinomial(81, np.full(81, 1 / 81)).astype(np.float64)
    rows = np.repeat(np.arange(81), counts.astype(int))
    once = fitted(BiasReduced(), cohort, protocol, counts).probability
    repeated = fitted(BiasReduced(), cohort.take(rows), protocol).probability
    assert once[rows] == pytest.approx(repeated, abs=1e-10)
