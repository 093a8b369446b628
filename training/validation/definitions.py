"""Which event, and who is taken as seen: every definition of the outcome and three visit windows side by side."""

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.errors import FitRefused, OutcomeRefused
from training.cohort import Cohort, Course, Status
from training.outcome import Outcome, at_horizon, check_enough, follow_up, rate
from training.protocol import Protocol
from training.validation.refit import Examined
from training.validation.standing import Standing, standing
from training.validation.variants import Variant, refused, variant


@dataclass(frozen=True, slots=True)
class Definition:
    """One definition of the outcome at the protocol's horizon.

    Counts of children of known course; `rate` by Aalen-Johansen, `competing_rate` of the ends that rule it out;
    `shipped`: how the left-out estimates of the shipped model stand to this outcome; `refitted`: the protocol fitted
    to this outcome, base flat, since what was held of the base speaks of the protocol's own.
    """

    name: str
    label: str
    own: bool
    children: int
    events: int
    competing: int
    lost_before_horizon: int
    rate: float | None
    competing_rate: float | None
    follow_up_months: float | None
    shipped: Standing
    refitted: Variant


@dataclass(frozen=True, slots=True)
class Window:
    """The protocol under another visit window: children taken as seen at the horizon, lost before it, and the fit."""

    months: float
    own: bool
    in_window: int
    lost_before_horizon: int
    events: int
    rate: float | None
    refitted: Variant


def by_definition(held: Examined) -> tuple[Definition, ...]:
    """Every outcome that the cohort can tell; nothing for a plain outcome."""
    return tuple(_definition(held, name, course) for name, course in held.cohort.definitions.items())


def _definition(held: Examined, name: str, course: Course) -> Definition:
    asked = held.protocol.dictionary.outcomes[name]
    cohort, rules = replace(held.cohort, course=course), held.protocol.outcome
    outcome = at_horizon(cohort, held.protocol)
    own = name == rules.name
    return Definition(
        name=name,
        label=asked.label,
        own=own,
        children=int(np.count_nonzero(course.known)),
        events=outcome.events,
        competing=int(np.count_nonzero(outcome.status == Status.COMPETING)),
        lost_before_horizon=outcome.censored_before,
        rate=rate(course, rules),
        competing_rate=rate(course, rules, Status.COMPETING),
        follow_up_months=follow_up(course),
        shipped=standing(name, outcome, held.left_out, course.known),
        refitted=_refitted(held, name, cohort, held.protocol, outcome, own=own),
    )


def by_window(held: Examined) -> tuple[Window, ...]:
    """No window, the protocol's, and twice that; nothing for an outcome without a horizon or a window."""
    months = held.protocol.outcome.visit_window_months
    return tuple(_window(held, each) for each in (0.0, months, 2.0 * months)) if months else ()


def _window(held: Examined, months: float) -> Window:
    asked = replace(held.protocol, outcome=replace(held.protocol.outcome, visit_window_months=months))
    outcome = at_horizon(held.cohort, asked)
    return Window(
        months=months,
        own=months == held.protocol.outcome.visit_window_months,
        in_window=outcome.in_window,
        lost_before_horizon=outcome.censored_before,
        events=outcome.events,
        rate=rate(held.cohort.course, asked.outcome),
        refitted=_refitted(held, f"{months:g} months", held.cohort, asked, outcome, own=True),
    )


def _refitted(held: Examined, name: str, cohort: Cohort, asked: Protocol, outcome: Outcome, *, own: bool) -> Variant:
    declared = held.declared
    if not own:
        declared = replace(declared, priors=replace(declared.priors, base_mean=0.0, base_sd=np.inf))
    try:
        check_enough(outcome)
        return variant(held, name, held.again(cohort=cohort, protocol=asked, declared=declared))
    except (FitRefused, OutcomeRefused) as error:
        return refused(name, str(error))
