"""Small protocols and cohorts for the tests, made by hand."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from riskmodel.cases.table import CaseTable, column
from riskmodel.dictionary.model import Dictionary, Moment
from training.cohort import Cohort, Course, course
from training.protocol import CohortRules, FitRules, GateRules, OutcomeRules, Protocol, ReportRules

NOTHING_KNOWN = Dictionary(name="empty", version="1", variables=MappingProxyType({}))


def protocol_of(outcome: OutcomeRules) -> Protocol:
    """A protocol that says nothing but how the outcome is told."""
    return Protocol(
        name="small",
        title="A small protocol",
        dictionary=NOTHING_KNOWN,
        released=date(2026, 11, 25),
        review_by=date(2028, 11, 25),
        demonstration=False,
        moment=Moment.PLAN,
        planned_from_operation_note=False,
        seed=1,
        cohort=CohortRules(),
        outcome=outcome,
        derive=(),
        predictors=(),
        interactions=(),
        fit=FitRules(),
        replays=500,
        report=ReportRules(),
        gates=GateRules(),
        document=MappingProxyType({}),
    )


def timed(horizon: float, window: float = 0.0, *, by_centre: bool = False) -> Protocol:
    """A protocol with a horizon in months."""
    rules = OutcomeRules(
        name="failure", horizon_months=horizon, visit_window_months=window, censoring_by_centre=by_centre
    )
    return protocol_of(rules)


PLAIN = protocol_of(OutcomeRules(column="failure", event_value="yes"))


def cohort_of(held: Course, centres: ArrayLike | None = None) -> Cohort:
    """A cohort of which nothing is known but its course and, if given, the code of each child's centre."""
    cases = CaseTable(tuple(f"C{row:04d}" for row in range(len(held))), {})
    centre = None if centres is None else column(np.asarray(centres, dtype=np.float64))
    return Cohort(cases, held, NOTHING_KNOWN, centre=centre)


def cohort(months: ArrayLike, status: ArrayLike) -> Cohort:
    """A cohort of children with these times in months and `Status` codes."""
    return cohort_of(course(status, months))


def two_centres(first: int = 30) -> Cohort:
    """Up to 30 children of a centre that loses them early, then 30 of one that follows them for long."""
    rng = np.random.default_rng(7)
    months = np.concatenate([rng.integers(1, 40, 30), rng.integers(12, 60, 30)]).astype(float)
    whole = cohort_of(course(rng.choice([0, 1, 1, 2], 60), months), centres=[0] * 30 + [1] * 30)
    return whole.take(np.concatenate([np.arange(first), np.arange(30, 60)]))


def defined_in_vain(performance: Mapping[str, Any]) -> set[str]:
    """Words that a bundle's performance defines and does not use: no measure, no part of an entry, nothing beside."""
    measures = performance["measures"]
    used = {
        *performance,
        *measures,
        *performance.get("replays", ()),
        *(key for held in measures.values() for key in held),
    }
    unset = {key for key in ("harrell", "low") if all(held[key] is None for held in measures.values())}
    return set(performance["definitions"]) - (used - unset)
