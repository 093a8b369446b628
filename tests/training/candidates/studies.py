"""A small cohort with columns of our own making, for candidates to be tried on."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from riskmodel.cases.table import CaseTable, Floats, column
from riskmodel.dictionary.model import Dictionary, Kind, Moment, Variable
from tests.training.builders import PLAIN
from training.candidates import Candidate, Fitted
from training.cohort import Cohort, course
from training.features import Design, declare, learn
from training.outcome import at_horizon
from training.protocol import Form, Predictor, Protocol


def variable(name: str, monotone: str | None = None) -> Variable:
    """A number known at planning."""
    hard = (-100.0, 100.0)
    return Variable(name, name, Kind.NUMBER, Moment.PLAN, hard=hard, resolution=0.001, monotone=monotone)


def study(y: ArrayLike, numbers: dict[str, Floats], **monotone: str) -> tuple[Cohort, Protocol]:
    """A plain yes/no cohort with these numbers as linear predictors; `monotone` by name."""
    held = np.asarray(y, dtype=np.int8)
    variables = {name: variable(name, monotone.get(name)) for name in numbers}
    dictionary = Dictionary(name="own", version="1", variables=MappingProxyType(variables))
    keys = tuple(f"C{row:04d}" for row in range(len(held)))
    cases = CaseTable(keys, {name: column(values) for name, values in numbers.items()})
    protocol = replace(PLAIN, dictionary=dictionary, predictors=tuple(Predictor(name, Form.LINEAR) for name in numbers))
    return Cohort(cases, course(held), dictionary), protocol


def design(cohort: Cohort, protocol: Protocol, counts: Floats | None = None) -> Design:
    """The design of the cohort, or of a sample of it."""
    return learn(cohort, protocol, counts=counts, declared=declare(cohort, protocol))


def fitted(
    candidate: Candidate, cohort: Cohort, protocol: Protocol, counts: Floats | None = None, *, seed: int = 1
) -> Fitted:
    """The candidate fitted to the cohort, or to a sample of it."""
    present = np.ones(len(cohort)) if counts is None else counts
    outcome = at_horizon(cohort, protocol, counts=counts)
    rng = np.random.default_rng(seed)
    return candidate.fit(design(cohort, protocol, counts), cohort, outcome, counts=present, rng=rng)
