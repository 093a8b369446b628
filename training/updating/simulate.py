"""Children's courses drawn from given risks, with follow-up as it was: for tests under censoring weights."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.cohort import Cohort, Status, course
from training.outcome import Censoring, Outcome, Steps, aalen_johansen, at_horizon, censoring_survival
from training.outcome.horizon import windowed
from training.protocol import Protocol
from training.updating.likelihood import Sample


@dataclass(frozen=True, slots=True)
class Ends:
    """When courses ended, to draw from: times (m,) with their chances (m,), sum 1."""

    months: Floats
    chances: Floats

    def draw(self, count: int, rng: np.random.Generator) -> Floats:
        """(count,) times."""
        return rng.choice(self.months, size=count, p=self.chances)


@dataclass(frozen=True, slots=True)
class Simulator:
    """Draws outcomes with the weights that they would have had.

    Event times are drawn from the observed ones, weighted for censoring; what competes takes the same share of the
    children without the event as it did; censoring follows its own curve, centre by centre where the weights do.
    Children whose course is not known stay unknown.
    """

    cohort: Cohort
    protocol: Protocol
    known: NDArray[np.bool_]
    event: Ends
    competing: Ends | None
    competing_share: float
    lost: tuple[tuple[NDArray[np.intp], Ends], ...]
    horizon: float

    def __call__(self, probability: Floats, rng: np.random.Generator) -> Sample:
        """Outcomes and weights of all n children, drawn from their probabilities (n,)."""
        status, months = self._ends(probability, rng)
        lost = np.full(len(months), np.inf)
        for rows, ends in self.lost:
            lost[rows] = ends.draw(len(rows), rng)
        # At equal times an event comes before a loss, as where weights are made.
        seen = months <= lost
        held = course(
            np.where(self.known, np.where(seen, status, Status.FREE), Status.UNKNOWN), np.where(seen, months, lost)
        )
        outcome = at_horizon(replace(self.cohort, course=held), self.protocol)
        return Sample(outcome.label, outcome.weight)

    def _ends(self, probability: Floats, rng: np.random.Generator) -> tuple[NDArray[np.int8], Floats]:
        """How each course would end if it were followed to the horizon, and when."""
        count = len(probability)
        status = np.full(count, Status.FREE, dtype=np.int8)
        months = np.full(count, self.horizon)
        event = rng.random(count) < probability
        status[event], months[event] = Status.EVENT, self.event.draw(int(event.sum()), rng)
        if self.competing is not None:
            other = ~event & (rng.random(count) < self.competing_share)
            status[other], months[other] = Status.COMPETING, self.competing.draw(int(other.sum()), rng)
        return status, months


def simulator(cohort: Cohort, protocol: Protocol, outcome: Outcome) -> Simulator:
    """What follow-up was like, from the cohort's own courses; the outcome must have a horizon."""
    horizon = float(outcome.horizon_months or 0.0)
    known = cohort.course.known
    months, _ = windowed(cohort.course, horizon, protocol.outcome.visit_window_months)
    event, other = (outcome.status == end for end in (Status.EVENT, Status.COMPETING))
    rates = [
        _rate(months[known], cohort.course.status[known], horizon, end) for end in (Status.EVENT, Status.COMPETING)
    ]
    return Simulator(
        cohort=cohort,
        protocol=protocol,
        known=known,
        event=_observed(months[event], outcome.weight[event]),
        competing=_observed(months[other], outcome.weight[other]) if other.any() else None,
        competing_share=rates[1] / (1.0 - rates[0]),
        lost=tuple(_lost(cohort, outcome, months, horizon)),
        horizon=horizon,
    )


def _rate(months: Floats, status: NDArray[np.int8], horizon: float, end: Status) -> float:
    return float(aalen_johansen(months, status, np.ones(len(months)), end).at(horizon))


def _observed(months: Floats, weights: Floats) -> Ends:
    return Ends(months, weights / weights.sum())


def _lost(cohort: Cohort, outcome: Outcome, months: Floats, horizon: float) -> Iterator[tuple[NDArray[np.intp], Ends]]:
    """For each group that shares a censoring curve: its rows, and when its children would be lost (inf: never)."""
    free = cohort.course.status == Status.FREE
    groups = [np.ones(len(cohort), dtype=bool)]
    if outcome.censoring is Censoring.BY_CENTRE and cohort.centre is not None:
        codes = np.where(cohort.centre.present, cohort.centre.values, -1.0)
        groups = [codes == code for code in np.unique(codes)]
    for group in groups:
        rows = np.flatnonzero(group & cohort.course.known)
        curve = censoring_survival(months[rows], free[rows], np.ones(len(rows)))
        yield np.flatnonzero(group), _drops(curve, horizon)


def _drops(curve: Steps, horizon: float) -> Ends:
    """Chances of being lost at each time before the horizon, and of being followed to it."""
    before = curve.times < horizon
    values = curve.values[before]
    chances = -np.diff(np.concatenate([[1.0], values, [0.0]]))
    return Ends(np.append(curve.times[before], np.inf), chances / chances.sum())
