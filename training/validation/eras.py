"""Earlier and later: whether a model of the earlier years holds in the later ones, and how both are followed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.errors import FitRefused
from training.cohort import Status
from training.metrics import too_few_events
from training.outcome import censoring_survival
from training.validation.refit import Examined
from training.validation.standing import Standing, standing


@dataclass(frozen=True, slots=True)
class Era:
    """One era: how its left-out estimates stand, and how its follow-up goes.

    `lost_before_horizon` children last seen free before it; `followed_to_horizon`: chance of being followed that long
    if nothing happens, by the era's own censoring; None for a plain outcome.
    """

    standing: Standing
    lost_before_horizon: int
    followed_to_horizon: float | None


@dataclass(frozen=True, slots=True)
class Eras:
    """`from_year` opens the later era. `held_out`: a model of the earlier era, on the children of the later one."""

    from_year: int | None
    eras: tuple[Era, ...]
    held_out: Standing | None
    reason: str | None = None


def before_and_after(held: Examined) -> Eras:
    """Split at the protocol's year, or in the middle of the cohort, and fit everything to the earlier children."""
    year = held.cohort.year
    if year is None or not year.present.any():
        return Eras(None, (), None, "the protocol names no year of operation, or no child has one")
    first_later = held.protocol.report.era_from or int(np.ceil(np.median(year.values[year.present])))
    later = year.present & (np.nan_to_num(year.values) >= first_later)
    earlier = year.present & ~later
    if not (earlier.any() and later.any()):
        return Eras(first_later, (), None, f"all children had their operation on one side of {first_later}")
    eras = (_era(held, f"before {first_later}", earlier), _era(held, f"from {first_later} on", later))
    held_out = _held_out(held, earlier, later)
    if isinstance(held_out, str):
        return Eras(first_later, eras, None, held_out)
    return Eras(first_later, eras, held_out)


def _era(held: Examined, name: str, rows: NDArray[np.bool_]) -> Era:
    known = rows & held.cohort.course.known
    free_early = (held.outcome.status[known] == Status.UNKNOWN).sum()
    return Era(
        standing=standing(name, held.outcome, held.left_out, known),
        lost_before_horizon=int(free_early),
        followed_to_horizon=_followed(held, known),
    )


def _followed(held: Examined, known: NDArray[np.bool_]) -> float | None:
    horizon, course = held.protocol.outcome.horizon_months, held.cohort.course
    if horizon is None or not known.any():
        return None
    months = course.timed[known]
    curve = censoring_survival(months, course.status[known] == Status.FREE, np.ones(len(months)))
    return float(curve.before(horizon - held.protocol.outcome.visit_window_months))


def _held_out(held: Examined, earlier: NDArray[np.bool_], later: NDArray[np.bool_]) -> Standing | str:
    few = too_few_events(*held.outcome.ends(earlier))
    if few is not None:
        return f"no model of the earlier era: {few}"
    try:
        found = held.again(counts=earlier.astype(np.float64), candidate=held.rule)
    except FitRefused as refused:
        return f"no model of the earlier era: {refused}"
    known = later & held.cohort.course.known
    return standing("later children, by a model of the earlier", held.outcome, found.fitted.probability, known)
