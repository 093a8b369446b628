"""Is the model still right: events observed against events expected, period by period, and whether its review is due.

This is the one definition of observed over expected with limits in a running service. Only children whose horizon has
passed are counted: an early event is known at once, its absence not before the horizon, so that counting earlier would
find too many events. A child whose outcome is not known although its horizon has passed is counted apart.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

import numpy as np

from riskmodel.cases.table import Floats

# Limits as on control charts (Spiegelhalter, Statistics in Medicine 2005;24:1185): one period in 20 outside the
# inner ones, one in 500 outside the outer ones, if nothing is wrong.
INNER, OUTER = 0.95, 0.998
# With more than this share of a period not known, what is known may be the wrong part of it (own choice).
MOST_NOT_KNOWN = 0.2
# A review takes time to prepare (own choice).
DUE_SOON = timedelta(days=90)
MONTHS_A_YEAR = 12


@dataclass(frozen=True, slots=True)
class Followed:
    """A child who was given an estimate: day of the operation, probability in [0, 1], whether the event occurred.

    `event` is about the time to the horizon; False also when something that competes came first; None = not known.
    """

    operated: date
    probability: float
    event: bool | None


class Verdict(Enum):
    """What a period's number of events says."""

    AS_EXPECTED = "as many as chance allows"
    MORE = "more than expected: look into it"
    FEWER = "fewer than expected: look into it"
    FAR_MORE = "far more than chance allows"
    FAR_FEWER = "far fewer than chance allows"
    TOO_MANY_NOT_KNOWN = "too many outcomes not known to say"
    NOBODY = "nobody to count"


@dataclass(frozen=True, slots=True)
class Limits:
    """Numbers of events that the model itself allows: within `low` and `high`, both included, nothing is unusual."""

    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Period:
    """One period: children counted and not known, events observed and expected, limits, verdict.

    `ratio` = observed / expected, None where nothing is expected; `smallest_excess` the least ratio above 1 that would
    lie outside the inner limits: what this many children could tell at all.
    """

    name: str
    children: int
    not_known: int
    observed: int
    expected: float
    inner: Limits
    outer: Limits
    verdict: Verdict

    @property
    def ratio(self) -> float | None:
        """Observed over expected; None where nothing is expected."""
        return self.observed / self.expected if self.expected > 0.0 else None

    @property
    def smallest_excess(self) -> float | None:
        """The least observed over expected that would be noticed; None where nothing is expected."""
        return (self.inner.high + 1) / self.expected if self.expected > 0.0 else None


def half_year(day: date) -> str:
    """The half-year of a day.

    >>> half_year(date(2026, 6, 30)), half_year(date(2026, 7, 1))
    ('2026, first half', '2026, second half')
    """
    return f"{day.year}, {'first' if day.month <= MONTHS_A_YEAR // 2 else 'second'} half"


def passed(operated: date, horizon_months: float, on: date) -> bool:
    """Whether the horizon lies on or before the day `on`; a part of a month counts as a whole one."""
    months = operated.year * MONTHS_A_YEAR + operated.month - 1 + int(np.ceil(horizon_months))
    there = (months // MONTHS_A_YEAR, months % MONTHS_A_YEAR + 1, operated.day)
    return there <= (on.year, on.month, on.day)


def by_half_year(children: Iterable[Followed], *, horizon_months: float, on: date) -> tuple[Period, ...]:
    """Observed against expected for each half-year of operation, oldest first, of children whose horizon has passed."""
    due = [child for child in children if passed(child.operated, horizon_months, on)]
    names = [half_year(child.operated) for child in due]
    return by_period(names, [child.probability for child in due], [child.event for child in due])


def by_period(
    names: Sequence[str], probability: Sequence[float] | Floats, events: Sequence[bool | None]
) -> tuple[Period, ...]:
    """Observed against expected for each name, in the order of the names.

    Parameters
    ----------
    names, probability, events
        (n,) the child's period, the risk it was given, and whether the event occurred (None = not known), of children
        whose horizon has passed.
    """
    held = np.asarray(probability, dtype=np.float64)
    return tuple(
        _period(name, [i for i, other in enumerate(names) if other == name], held, events)
        for name in sorted(set(names))
    )


def whole(probability: Sequence[float] | Floats, events: Sequence[bool | None]) -> Period:
    """All periods as one; (n,) each, as `by_period` takes them."""
    return _period("all", list(range(len(events))), np.asarray(probability, dtype=np.float64), events)


def _period(name: str, rows: Sequence[int], probability: Floats, events: Sequence[bool | None]) -> Period:
    known = [row for row in rows if events[row] is not None]
    observed = sum(bool(events[row]) for row in known)
    chances = count_distribution(probability[known])
    inner, outer = limits(chances, INNER), limits(chances, OUTER)
    lost = len(rows) - len(known)
    if not known:
        verdict = Verdict.NOBODY
    elif lost > MOST_NOT_KNOWN * len(rows):
        verdict = Verdict.TOO_MANY_NOT_KNOWN
    else:
        verdict = _verdict(observed, inner, outer)
    return Period(name, len(known), lost, observed, float(probability[known].sum()), inner, outer, verdict)


def count_distribution(probability: Floats) -> Floats:
    """(n + 1,) chance of 0, 1, ... n events among n independent children with these risks, exactly.

    The Poisson-binomial distribution, by adding one child after the other.

    >>> count_distribution(np.array([0.5, 0.5])).tolist()
    [0.25, 0.5, 0.25]
    """
    chances = np.ones(1)
    for p in probability:
        chances = np.append(chances * (1.0 - p), 0.0) + np.append(0.0, chances * p)
    return chances


def limits(chances: Floats, level: float) -> Limits:
    """The numbers of events beyond which on either side lies at most (1 - level) / 2 of the distribution (n + 1,)."""
    tail = (1.0 - level) / 2.0 + 1e-12
    low = int(np.count_nonzero(np.cumsum(chances) <= tail))
    high = len(chances) - 1 - int(np.count_nonzero(np.cumsum(chances[::-1]) <= tail))
    return Limits(low, high)


def _verdict(observed: int, inner: Limits, outer: Limits) -> Verdict:
    if observed > outer.high:
        return Verdict.FAR_MORE
    if observed < outer.low:
        return Verdict.FAR_FEWER
    if observed > inner.high:
        return Verdict.MORE
    return Verdict.FEWER if observed < inner.low else Verdict.AS_EXPECTED


class Review(Enum):
    """Where the day of asking stands between a model's release and its review."""

    NOT_RELEASED = "not yet released"
    CURRENT = "current"
    DUE_SOON = "review due soon"
    PAST = "past its review: no number is given"


def review(released: date, review_by: date, on: date) -> Review:
    """Whether the model's review is due. Past it, the gate `expiry` takes the number away.

    >>> review(date(2026, 1, 1), date(2028, 1, 1), date(2027, 12, 1))
    <Review.DUE_SOON: 'review due soon'>
    """
    if on < released:
        return Review.NOT_RELEASED
    if on > review_by:
        return Review.PAST
    return Review.DUE_SOON if on > review_by - DUE_SOON else Review.CURRENT
