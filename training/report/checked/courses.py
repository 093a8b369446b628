"""What became of the children, part by part, in counts that may be shown."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from training.cohort import Cohort, Status
from training.outcome import Outcome, at_horizon, censoring_survival, follow_up
from training.protocol import Protocol
from training.report.checked.hidden import one, shown
from training.report.checked.split import Part

HORIZON_HEAD = ("event", "other end", "free", "lost before", "not known")
PLAIN_HEAD = ("event", "no event", "not known")
MONTHS = (3.0, 6.0, 12.0, 24.0, 36.0, 60.0, 120.0)


@dataclass(frozen=True, slots=True)
class Courses:
    """A table: what the counts are, and for each part its children, its counts and its median follow-up in months."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, str, tuple[str, ...], str], ...]


@dataclass(frozen=True, slots=True)
class Followed:
    """The share of children that is followed for at least so many months, by reverse Kaplan-Meier."""

    months: float
    share: float


def courses(cohort: Cohort, protocol: Protocol, parts: Sequence[Part]) -> Courses:
    """Counts by the horizon (or of the plain outcome) for each part; with no parts, for the whole cohort."""
    outcome = at_horizon(cohort, protocol)
    whole = parts or (Part("all", np.arange(len(cohort), dtype=np.intp)),)
    head = PLAIN_HEAD if protocol.outcome.horizon_months is None else HORIZON_HEAD
    texts = shown([_counts(outcome, cohort, part, head) for part in whole])
    rows = [
        (part.name, one(len(part.children)), cells, _median(cohort, part))
        for part, cells in zip(whole, texts, strict=True)
    ]
    return Courses(head, tuple(rows))


def _counts(outcome: Outcome, cohort: Cohort, part: Part, head: tuple[str, ...]) -> list[int]:
    status = outcome.status[part.children]
    counts = {each: int(np.count_nonzero(status == each)) for each in Status}
    unstated = int(np.count_nonzero(~cohort.course.known[part.children]))
    if head == PLAIN_HEAD:
        return [counts[Status.EVENT], counts[Status.FREE], counts[Status.UNKNOWN]]
    lost = counts[Status.UNKNOWN] - unstated
    return [counts[Status.EVENT], counts[Status.COMPETING], counts[Status.FREE], lost, unstated]


def _median(cohort: Cohort, part: Part) -> str:
    months = follow_up(cohort.take(part.children).course)
    return "not reached" if months is None else f"{months:.0f}"


def followed(cohort: Cohort) -> tuple[Followed, ...]:
    """How long the children are followed; nothing for an outcome without times."""
    course = cohort.course
    if course.months is None or not course.known.any():
        return ()
    known = course.known
    months = course.months[known]
    curve = censoring_survival(months, course.status[known] == Status.FREE, np.ones(len(months)))
    last = float(months.max())
    return tuple(Followed(time, float(curve.before(time))) for time in MONTHS if time <= last)
