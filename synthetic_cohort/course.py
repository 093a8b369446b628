"""Time to each event: piecewise constant hazards, so that every risk has a closed form.

A failure is found at once when it hurts, otherwise at the next planned visit; a found failure is revised or lived
with. Planned removal and death end the chance of a failure, death alone that of a revision.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from synthetic_cohort.hazard import Rates
from synthetic_cohort.records import Codes, Flags, Floats

# planned visits (months); the hazards change there and nowhere else. The two-year visit is at month 23.
EDGES: Final = np.array([0.0, 1.5, 3.0, 6.0, 12.0, 23.0, 35.0, 47.0, 59.0, 71.0, 83.0, 95.0, 107.0, 119.0])
HORIZON_MONTHS: Final = 24.0
# relative hazards per month between visits; the world's base rate multiplies them
MECHANICAL: Final = np.array([0.5, 1.1, 1.3, 0.9, 0.40, 0.15, 0.10, 0.08, 0.05, 0.05, 0.05, 0.05, 0.05])
# non-union exists from month 6 on, but only the scan at month 12 can call it so
BIOLOGICAL: Final = np.array([0.0, 0.0, 0.0, 1.6, 0.42, 0.12, 0.04, 0.02, *([0.01] * 5)])
AT_ONCE: Final = (0.55, 0.35)  # share of failures found at once, by stream
FIRST_NAMED: Final = 4  # piece from which non-union can be found at once
OTHER_REVISION: Final = np.array([0.0045, 0.001, 0.0005, 0.0003, 0.0002, *([0.0002] * 8)])
REMOVAL: Final = np.array([0.0, 0.0, 0.0, 0.0, 0.0012, 0.0020, 0.0012, 0.0006, 0.0, 0.0, 0.0, 0.0, 0.0])
DEATH: Final = 0.0003
TO_THEATRE_MONTHS: Final = 1.2  # mean, from finding a failure to its revision


@dataclass(frozen=True, slots=True)
class Base:
    """The two numbers that are solved for: the base hazard, and the log odds that a found failure is revised."""

    hazard: float
    revised_logit: float


@dataclass(frozen=True, slots=True)
class Life:
    """(n,) months from the operation to each event, infinite where it never comes; `mechanical` says of which kind."""

    failure: Floats  # when it happened
    found_at_once: Flags
    mechanical: Flags
    removal: Floats
    death: Floats
    revised: Flags
    to_theatre: Floats  # from finding to revision
    other_revision: Floats


def revised_share(base: Base, rates: Rates) -> Floats:
    """Chance that a found failure is revised."""
    return np.asarray(1 / (1 + np.exp(-base.revised_logit - rates.revised_logit)))


def draw(rng: np.random.Generator, base: Base, rates: Rates) -> Life:
    """Draw one life of each child."""
    n = len(rates.mechanical)
    mechanical = base.hazard * rates.mechanical[:, None] * MECHANICAL
    biological = base.hazard * rates.biological[:, None] * BIOLOGICAL
    failure, piece = first(rng, mechanical + biological)
    mechanical, biological = (np.take_along_axis(h, piece[:, None], 1)[:, 0] for h in (mechanical, biological))
    kind = rng.random(n) * (mechanical + biological) < mechanical
    at_once = np.where(kind, AT_ONCE[0], np.where(piece >= FIRST_NAMED, AT_ONCE[1], 0.0))
    removal, _ = first(rng, np.asarray(rates.removal)[:, None] * REMOVAL)
    death = rng.exponential(1.0, n) / (DEATH * rates.death)
    other, _ = first(rng, rates.other_revision[:, None] * OTHER_REVISION)
    return Life(
        failure=np.where(failure > np.minimum(removal, death), np.inf, failure),
        found_at_once=rng.random(n) < at_once,
        mechanical=kind,
        removal=np.where(removal > np.minimum(failure, death), np.inf, removal),
        death=death,
        revised=rng.random(n) < revised_share(base, rates),
        to_theatre=rng.exponential(TO_THEATRE_MONTHS, n),
        other_revision=other,
    )


def first(rng: np.random.Generator, hazards: Floats) -> tuple[Floats, Codes]:
    """(n,) time and piece of the first event under hazards (n, pieces), by inverting the cumulative hazard."""
    steps = np.cumsum(hazards * np.diff(EDGES), axis=1)
    target = rng.exponential(1.0, len(hazards))
    piece = (steps < target[:, None]).sum(axis=1)
    last = np.minimum(piece, hazards.shape[1] - 1)
    before = np.where(last > 0, np.take_along_axis(steps, np.maximum(last - 1, 0)[:, None], 1)[:, 0], 0.0)
    rate = np.take_along_axis(hazards, last[:, None], 1)[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):  # a piece without hazard is never the one chosen
        inside = EDGES[last] + (target - before) / rate
    return np.where(piece == last, inside, np.inf), last


def found(life: Life, visits: Floats) -> Floats:
    """(n,) month in which the failure is found when the visits (n, k) or (k,), ascending, are kept; infinite if never.

    A child that dies before its failure is found has none on record.
    """
    later = np.where(visits >= life.failure[:, None], visits, np.inf).min(axis=1)
    at = np.where(life.found_at_once, life.failure, later)
    return np.where(at > life.death, np.inf, at)


def revision(life: Life, found_months: Floats) -> Floats:
    """(n,) month of the first unplanned return to theatre for the fixation; infinite if never."""
    after = np.where(life.revised, found_months + life.to_theatre, np.inf)
    at = np.minimum(after, life.other_revision)
    return np.where(at > life.death, np.inf, at)
