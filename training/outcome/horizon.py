"""The outcome at the horizon: label, status and censoring weight of every child, as one checked object."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.cohort import Cohort, Course, Status
from training.outcome.curves import censoring_survival
from training.protocol import OutcomeRules, Protocol

FEWEST_AT_RISK = 10


class Censoring(Enum):
    """Whose curve of censoring weighs a child."""

    POOLED = "all children together"
    BY_CENTRE = "centre by centre"
    POOLED_TOO_FEW = "all children together, since a centre has too few at the horizon to stand alone"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What is known of each of n children at the horizon.

    `label` (n,) 1.0 for the event at or before the horizon, else 0.0; `status` (n,) int8: a `Status`, UNKNOWN also
    for a child censored before the horizon; `weight` (n,) inverse probability of not being censored, 0 where the
    status is UNKNOWN, the child's count in the sample not included; `horizon_months` None for a plain yes/no outcome.
    The other fields describe the cohort itself, however often a child is in the sample: how many children are still
    followed and free just before the horizon (`at_risk`), were censored before it, have no known outcome at all
    (`unstated`), were last seen within the visit window and count as seen at the horizon (`in_window`); `censoring`
    says whose censoring curve weighs a child.
    """

    label: Floats
    status: NDArray[np.int8]
    weight: Floats
    horizon_months: float | None
    at_risk: int
    censored_before: int
    unstated: int
    in_window: int
    censoring: Censoring = Censoring.POOLED

    def __post_init__(self) -> None:
        if not self.label.shape == self.status.shape == self.weight.shape:
            raise ValueError("label, status and weight must have one entry per child")
        if not (np.isfinite(self.weight).all() and (self.weight >= 0).all()):
            raise ValueError("censoring weights must be finite and at least 0")
        if self.weight[self.status == Status.UNKNOWN].any():
            raise ValueError("a child whose outcome is not known must weigh 0")
        for held in (self.label, self.status, self.weight):
            held.setflags(write=False)

    def __len__(self) -> int:
        return len(self.label)

    @property
    def known(self) -> NDArray[np.bool_]:
        """(n,) whether the outcome at the horizon is known."""
        return np.not_equal(self.status, Status.UNKNOWN)

    @property
    def events(self) -> int:
        """Children known to have had the event by the horizon."""
        return int(np.count_nonzero(self.status == Status.EVENT))

    @property
    def non_events(self) -> int:
        """Children known not to have had it: free at the horizon, or ended by a competing event."""
        return int(np.count_nonzero(self.known)) - self.events

    def ends(self, rows: NDArray[np.bool_]) -> tuple[int, int]:
        """Known events and known non-events among some of the children, (n,) which ones."""
        events = int(np.count_nonzero(self.status[rows] == Status.EVENT))
        return events, int(np.count_nonzero(self.known[rows])) - events


def at_horizon(cohort: Cohort, protocol: Protocol, *, counts: Floats | None = None) -> Outcome:
    """Tell label, status and weight of every child at the protocol's horizon.

    An event at t <= horizon weighs 1/G(t-), of interest (label 1) or competing (label 0); a child followed free to
    the horizon or beyond weighs 1/G(horizon-); everyone else weighs 0. G is the Kaplan-Meier curve of censoring in
    this sample. A child free and last seen within the visit window is first moved to the horizon.

    Parameters
    ----------
    cohort : n children with their course
    protocol : its `outcome` table gives horizon, visit window and whether G is made centre by centre
    counts : (n,) how often each child is in this replay; None for once each. A child not in it weighs 0.

    Notes
    -----
    With w the weights, c the counts and y the labels, over children of known course: sum(c w) = sum(c), and
    sum(c w y) / sum(c) is the Aalen-Johansen estimate at the horizon.
    """
    present = np.ones(len(cohort)) if counts is None else np.asarray(counts, dtype=np.float64)
    horizon = protocol.outcome.horizon_months
    return _plain(cohort.course, present) if horizon is None else _timed(cohort, protocol.outcome, horizon, present)


def _plain(course: Course, counts: Floats) -> Outcome:
    known = course.known
    return Outcome(
        label=(course.status == Status.EVENT).astype(np.float64),
        status=course.status,
        weight=(known & (counts > 0)).astype(np.float64),
        horizon_months=None,
        at_risk=int(np.count_nonzero(known)),
        censored_before=0,
        unstated=int(np.count_nonzero(~known)),
        in_window=0,
    )


def _timed(cohort: Cohort, rules: OutcomeRules, horizon: float, counts: Floats) -> Outcome:
    known = cohort.course.known
    ended = cohort.course.status
    months, in_window = windowed(cohort.course, horizon, rules.visit_window_months)
    status = _status_at(ended, months, horizon)
    followed = known & (months >= horizon)
    censoring, strata = _strata(cohort, rules, followed)
    until = np.minimum(months, horizon)
    weight = _weights(months, until, ended == Status.FREE, strata, counts * known)
    return Outcome(
        label=(status == Status.EVENT).astype(np.float64),
        status=status,
        weight=np.where(status == Status.UNKNOWN, 0.0, weight),
        horizon_months=horizon,
        at_risk=int(np.count_nonzero(followed)),
        censored_before=int(np.count_nonzero(known & (status == Status.UNKNOWN))),
        unstated=int(np.count_nonzero(~known)),
        in_window=int(np.count_nonzero(in_window)),
        censoring=censoring,
    )


def windowed(course: Course, horizon: float, window: float) -> tuple[Floats, NDArray[np.bool_]]:
    """(n,) months with every free child last seen in [horizon - window, horizon) moved to it, and (n,) who was moved.

    A child of unknown course gets the time 0; it is left out by its count, never by its time.
    """
    months = np.where(course.known, course.timed, 0.0)
    late = (course.status == Status.FREE) & (months >= horizon - window) & (months < horizon)
    return np.where(late, horizon, months), late


def _status_at(ended: NDArray[np.int8], months: Floats, horizon: float) -> NDArray[np.int8]:
    """Where each child stands at the horizon; an end after it leaves the child free there."""
    by_then = (ended == Status.EVENT) | (ended == Status.COMPETING)
    later = np.where((ended != Status.UNKNOWN) & (months >= horizon), np.int8(Status.FREE), np.int8(Status.UNKNOWN))
    return np.where(by_then & (months <= horizon), ended, later)


def _strata(
    cohort: Cohort, rules: OutcomeRules, followed: NDArray[np.bool_]
) -> tuple[Censoring, tuple[NDArray[np.bool_], ...]]:
    """Who shares a censoring curve: one group, or one per centre where each has enough children at the horizon.

    Decided on the cohort itself, so that every replay uses the same groups.
    """
    everyone = (np.ones(len(cohort), dtype=np.bool_),)
    if not rules.censoring_by_centre or cohort.centre is None:
        return Censoring.POOLED, everyone
    codes = np.where(cohort.centre.present, cohort.centre.values, -1.0)
    centres = tuple(codes == code for code in np.unique(codes))
    if min(np.count_nonzero(followed & centre) for centre in centres) < FEWEST_AT_RISK:
        return Censoring.POOLED_TOO_FEW, everyone
    return Censoring.BY_CENTRE, centres


def _weights(
    months: Floats, until: Floats, censored: NDArray[np.bool_], strata: tuple[NDArray[np.bool_], ...], counts: Floats
) -> Floats:
    """1 / G(until-) with G of the child's own stratum; 0 for a child that is not in the sample."""
    weight = np.zeros(len(months))
    for stratum in strata:
        rows = np.flatnonzero(stratum & (counts > 0))
        curve = censoring_survival(months[rows], censored[rows], counts[rows])
        weight[rows] = 1.0 / curve.before(until[rows])
    return weight
