"""Check a model on children that it was not made from, and note the check in a new bundle."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from riskmodel import monitoring
from riskmodel.bundle import Bundle, LocalCheck, Use
from riskmodel.cases.table import Column
from riskmodel.errors import OutcomeRefused
from riskmodel.monitoring import Period
from training.cohort import Cohort, Status
from training.fitting.coarse import shown_children
from training.fitting.disclosure import rounded_down
from training.meta import Pooled
from training.metrics import FEWEST_EVENTS
from training.protocol import Protocol
from training.updating.case_mix import CaseMix, case_mix, same_children
from training.updating.children import Children, children, enough_to_check
from training.updating.parts import Part, between_centres, parts
from training.updating.performance import RESAMPLES, Performance, performance
from training.updating.tells import tells

# A ratio with more digits would tell how many children it was made from.
DIGITS = 3
NAMED_CENTRES = 3
SAME_CHILDREN = (
    "a check needs other children than those that the model was made from; found the same means and shares to every "
    "digit; accepted: children operated on later, or elsewhere"
)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Everything that a check found.

    `between` pools measures over centres, by name, empty with fewer than two; `years`: observed against expected by
    year of operation, of children whose horizon has passed; `check` is what the new bundle says of all this.
    """

    children: Children
    case_mix: CaseMix
    performance: Performance
    parts: tuple[Part, ...]
    between: dict[str, Pooled]
    years: tuple[Period, ...]
    tells: tuple[str, ...]
    check: LocalCheck


def check_elsewhere(
    bundle: Bundle,
    protocol: Protocol,
    cohort: Cohort,
    *,
    on: date,
    place: str | None = None,
    times: int = RESAMPLES,
) -> Elsewhere:
    """Hold a model against what happened to other children.

    Parameters
    ----------
    protocol : the bundle's own, as `training.updating.protocol_of` reads it
    on : the day of the check
    place : where the children come from; the names of their centres when not given
    times : bootstrap samples for the intervals that have no formula

    Raises
    ------
    OutcomeRefused
        When the outcome is of one kind only, too few children are followed to the horizon, or these are the very
        children that the model was made from.
    """
    held = children(bundle, protocol, cohort)
    enough_to_check(held.outcome)
    mix = case_mix(held)
    if same_children(mix, shown_children(bundle.cohort)):
        raise OutcomeRefused(SAME_CHILDREN)
    found = performance(held, times=times, rng=np.random.default_rng([protocol.seed, 2]))
    return Elsewhere(
        children=held,
        case_mix=mix,
        performance=found,
        parts=parts(held),
        between=dict(between_centres(held)),
        years=_years(held, on),
        tells=tells(held, found),
        check=_local_check(held, found, on, place or _place(cohort.centre)),
    )


def noted(found: Elsewhere, *, use_local: bool = False) -> Bundle:
    """The bundle with the check in it, and the bundle as it was as a parent.

    Raises
    ------
    OutcomeRefused
        When it is to be used locally and fewer than 10 events or non-events speak for that.
    """
    before = found.children.bundle
    outcome = found.children.outcome
    if use_local and min(outcome.events, outcome.non_events) < FEWEST_EVENTS:
        raise OutcomeRefused(
            f"local use needs a check with at least {FEWEST_EVENTS} known events and {FEWEST_EVENTS} known "
            f"non-events; found {outcome.events} and {outcome.non_events}; accepted: the check without --use local"
        )
    return replace(
        before,
        use=Use.LOCAL if use_local else before.use,
        parents=(*before.parents, before.digest),
        local_checks=(*before.local_checks, found.check),
        digest="",
    )


def _local_check(held: Children, found: Performance, on: date, place: str) -> LocalCheck:
    ratio, c = found.measures["observed_expected"], found.measures["c"]
    return LocalCheck(
        on=on,
        centre=place,
        children=rounded_down(len(held)),
        events=rounded_down(held.outcome.events),
        observed_expected=_rounded(ratio.value),
        low=_rounded(ratio.low),
        high=_rounded(ratio.high),
        c=_rounded(c.value),
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, DIGITS)


def _place(centre: Column | None) -> str:
    if centre is None:
        return "place not stated"
    names = [label for code, label in enumerate(centre.labels) if (centre.values == code).any()]
    return ", ".join(names) if 0 < len(names) <= NAMED_CENTRES else f"{len(names)} centres"


def _years(held: Children, on: date) -> tuple[Period, ...]:
    year, horizon = held.cohort.year, held.outcome.horizon_months
    if year is None or horizon is None:
        return ()
    rows = [
        row
        for row in np.flatnonzero(year.present)
        if monitoring.passed(date(int(year.values[row]), 12, 31), horizon, on)
    ]
    events = [_event(int(held.outcome.status[row])) for row in rows]
    return monitoring.by_period([str(int(year.values[row])) for row in rows], held.probability[rows], events)


def _event(status: int) -> bool | None:
    return None if status == Status.UNKNOWN else status == Status.EVENT
