"""What became of a cohort by the horizon, in numbers for people."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import OutcomeRefused
from training.cohort import Cohort, Course, Status
from training.outcome.curves import aalen_johansen, censoring_survival, median
from training.outcome.horizon import at_horizon, windowed
from training.protocol import OutcomeRules, Protocol


@dataclass(frozen=True, slots=True)
class OutcomeSummary:
    """How many children, how many of them with which end by the horizon, and the rate, by Aalen-Johansen.

    `follow_up_months` is the median by reverse Kaplan-Meier, before the visit window moves anybody; None when it is
    not reached or the outcome has no times. `rates`: the rate under each definition that the cohort can tell;
    `rates_by_window`: the rate with no visit window, with the protocol's, and with twice that, by window in months.
    """

    children: int
    events: int
    competing: int
    free: int
    censored_before: int
    unstated: int
    in_window: int
    at_risk: int
    rate: float | None
    competing_rate: float | None
    follow_up_months: float | None
    rates: Mapping[str, float | None]
    rates_by_window: Mapping[float, float | None]


def summarise(cohort: Cohort, protocol: Protocol) -> OutcomeSummary:
    """Count and estimate what became of the cohort by the protocol's horizon, each child once."""
    outcome = at_horizon(cohort, protocol)
    rules = protocol.outcome
    return OutcomeSummary(
        children=len(cohort),
        events=outcome.events,
        competing=int(np.count_nonzero(outcome.status == Status.COMPETING)),
        free=int(np.count_nonzero(outcome.status == Status.FREE)),
        censored_before=outcome.censored_before,
        unstated=outcome.unstated,
        in_window=outcome.in_window,
        at_risk=outcome.at_risk,
        rate=rate(cohort.course, rules),
        competing_rate=rate(cohort.course, rules, Status.COMPETING),
        follow_up_months=follow_up(cohort.course),
        rates={name: rate(course, rules) for name, course in cohort.definitions.items()},
        rates_by_window={
            window: rate(cohort.course, replace(rules, visit_window_months=window)) for window in _windows(rules)
        },
    )


def _windows(rules: OutcomeRules) -> tuple[float, ...]:
    window = rules.visit_window_months
    return (0.0, window, 2 * window) if window else ()


def rate(course: Course, rules: OutcomeRules, end: Status = Status.EVENT) -> float | None:
    """Share of the children of known course that come to `end` by the horizon; None when no course is known."""
    if not course.known.any():
        return None
    if rules.horizon_months is None:
        return float(np.mean(course.status[course.known] == end))
    months, _ = windowed(course, rules.horizon_months, rules.visit_window_months)
    curve = aalen_johansen(months[course.known], course.status[course.known], _once(course), end)
    return float(curve.at(rules.horizon_months))


def known_rate(course: Course, rules: OutcomeRules) -> float:
    """The rate by the horizon, in [0, 1].

    Raises
    ------
    OutcomeRefused
        When no course is known.
    """
    held = rate(course, rules)
    if held is None:
        raise OutcomeRefused("no child's outcome at the horizon is known")
    return held


def follow_up(course: Course) -> float | None:
    """Median follow-up in months by reverse Kaplan-Meier; None when not reached, or when there are no times."""
    if course.months is None:
        return None
    known = course.known
    return median(censoring_survival(course.months[known], course.status[known] == Status.FREE, _once(course)))


def _once(course: Course) -> Floats:
    return np.ones(int(np.count_nonzero(course.known)))


def kish(weights: Floats, counts: Floats) -> float:
    """Kish's factor sum(c w) / sum(c w^2): the children that the weighted ones are worth, for each unit of weight.

    Parameters
    ----------
    weights : (n,) censoring weights, 0 or more
    counts : (n,) how often each child is in the sample; a copy counts as a row

    Returns
    -------
    float
        1 when all weights that are not 0 are 1, below 1 when they differ.

    Raises
    ------
    ZeroDivisionError
        When no child of the sample has a weight.
    """
    return float(np.sum(counts * weights)) / float(np.sum(counts * weights**2))
