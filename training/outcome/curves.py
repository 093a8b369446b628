"""Survival curves from counted children: Kaplan-Meier of censoring, Aalen-Johansen of two competing ends."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.cohort import Status

_ROUNDING = 1e-12  # a product of fractions that is one half on paper may end a few bits above it


@dataclass(frozen=True, slots=True)
class Steps:
    """A right-continuous step function of time: `start` before `times[0]`, `values[i]` from `times[i]` on."""

    times: Floats
    values: Floats
    start: float

    def at(self, months: Floats | float) -> Floats:
        """Value at each time (of the shape of `months`), a step at that very time included."""
        return self._after(np.searchsorted(self.times, months, side="right"))

    def before(self, months: Floats | float) -> Floats:
        """Value just before each time (of the shape of `months`), a step at that very time left out."""
        return self._after(np.searchsorted(self.times, months, side="left"))

    def _after(self, steps: NDArray[np.intp] | np.intp) -> Floats:
        held: Floats = np.concatenate(([self.start], self.values))[steps]
        return held


def _tally(place: NDArray[np.intp], weights: Floats, length: int) -> Floats:
    """Sum of the weights at each distinct time (k,)."""
    return np.bincount(place, weights=weights, minlength=length).astype(np.float64, copy=False)


def _risk_sets(months: Floats, counts: Floats) -> tuple[Floats, NDArray[np.intp], Floats]:
    """Distinct times (k,), each child's place among them (n,), and the number at risk just before each (k,)."""
    times, place = np.unique(months, return_inverse=True)
    leaving = _tally(place, counts, len(times))
    return times, place, leaving[::-1].cumsum()[::-1]


def _share(part: Floats, whole: Floats) -> Floats:
    """The quotient, and 0 where nobody is left."""
    return np.divide(part, whole, out=np.zeros_like(part), where=whole > 0)


def _product(factors: Floats) -> Floats:
    running: Floats = np.multiply.accumulate(factors)
    return running


def censoring_survival(months: Floats, censored: NDArray[np.bool_], counts: Floats) -> Steps:
    """Kaplan-Meier estimate of G(t) = P(censoring time > t).

    At equal times events leave the risk set before censorings, so that S(t) G(t) is the share still followed.

    Parameters
    ----------
    months : (n,) time to the end of each course, of any sort
    censored : (n,) whether that end was the end of follow-up
    counts : (n,) how often each child is in the sample, 0 or more

    Returns
    -------
    Steps
        G, from 1 down. As a description of follow-up it is the reverse Kaplan-Meier curve (Schemper & Smith,
        Controlled Clinical Trials 1996;17:343-346).
    """
    times, place, at_risk = _risk_sets(months, counts)
    ended = _tally(place, counts * ~censored, len(times))
    stopped = _tally(place, counts * censored, len(times))
    return Steps(times, _product(1.0 - _share(stopped, at_risk - ended)), 1.0)


def aalen_johansen(months: Floats, status: NDArray[np.int8], counts: Floats, end: Status = Status.EVENT) -> Steps:
    """Aalen-Johansen estimate of P(T <= t, course ended by `end`), the other end left to act.

    Parameters
    ----------
    months : (n,) time to the end of each course
    status : (n,) FREE, EVENT or COMPETING at that time
    counts : (n,) how often each child is in the sample, 0 or more
    end : EVENT or COMPETING

    Returns
    -------
    Steps
        Cumulative incidence, from 0 up (Aalen & Johansen, Scandinavian Journal of Statistics 1978;5:141-150).
    """
    times, place, at_risk = _risk_sets(months, counts)
    ended = _tally(place, counts * (status != Status.FREE), len(times))
    of_interest = _tally(place, counts * (status == end), len(times))
    free_after = _product(1.0 - _share(ended, at_risk))
    free_before = np.concatenate(([1.0], free_after[:-1]))
    return Steps(times, np.cumsum(free_before * _share(of_interest, at_risk)), 0.0)


def median(survival: Steps) -> float | None:
    """First time at which a survival curve is at or under one half; None when it never is."""
    under = np.flatnonzero(survival.values <= 0.5 + _ROUNDING)
    return float(survival.times[under[0]]) if len(under) else None
