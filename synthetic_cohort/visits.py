"""Follow-up: which visits are kept, and what is therefore known.

A child is followed to the last visit it keeps. Loss depends on what is recorded (age, unit, year), never on how the
child does, so that it can be allowed for.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from synthetic_cohort import course
from synthetic_cohort.children import Body
from synthetic_cohort.course import EDGES, Life
from synthetic_cohort.records import Flags, Floats

CLOSED: Final = 2026.0  # the registry is read at the start of this year
STAY_MONTHS: Final = 170.0  # mean time to loss of a child of 8 years in a usual unit
MISSED: Final = np.array([0.02, 0.08, 0.08, 0.0, 0.0, *([0.1] * 8)])  # share of visits missed by those still followed
LEFT_AREA: Final = 0.4  # share of those lost who are known to have moved
LETTER: Final = 0.4  # share with news after the last visit
FIRST_FILM_MONTHS: Final = 0.1
TWO_YEARS: Final = 4  # place of the visit at month 23


@dataclass(frozen=True, slots=True)
class FollowUp:
    """(n,) months from the operation, infinite where nothing was seen; `death` and `left_area` say how it ended."""

    failure: Floats
    revision: Floats
    removal: Floats
    death: Floats
    left_area: Floats
    last_scan: Floats
    last_contact: Floats


def follow(rng: np.random.Generator, body: Body, life: Life, *, censoring: float) -> FollowUp:
    """Follow each child.

    `censoring` multiplies the rate of loss; 0: everyone is followed until the registry closes.
    """
    visits = _visits(rng, len(body.year))
    loss = _loss(rng, body, censoring)
    closing = (CLOSED - body.year - body.year_part) * 12
    seen_to = np.where(visits <= np.minimum(loss, closing)[:, None], visits, FIRST_FILM_MONTHS).max(axis=1)
    letter = rng.random(len(loss)) < LETTER
    heard_of = np.where(letter, np.minimum(np.minimum(loss, closing), EDGES[-1]), seen_to)
    moved = (loss < closing) & (rng.random(len(loss)) < LEFT_AREA)
    return _known(life, visits, seen_to, np.maximum(heard_of, seen_to), moved=moved)


def _visits(rng: np.random.Generator, n: int) -> Floats:
    """(n, k) months of the visits kept: late rather than early but for the two-year visit; infinite when missed."""
    planned = EDGES[1:]
    shift = np.abs(rng.normal(0, 0.3, (n, len(planned))))
    shift[:, TWO_YEARS] = rng.normal(0, 0.3, n)
    visits = planned + np.clip(shift, -0.9, 0.9)
    return np.asarray(np.where(rng.random(visits.shape) < MISSED, np.inf, visits))


def _loss(rng: np.random.Generator, body: Body, censoring: float) -> Floats:
    if censoring == 0:
        return np.full(len(body.year), np.inf)
    rate = np.exp(0.04 * (body.age_years - 8) + 0.3 * (body.centre % 3 == 1) + 0.02 * (2016 - body.year))
    return np.asarray(rng.exponential(STAY_MONTHS, len(rate)) / (censoring * rate))


def _known(life: Life, visits: Floats, seen_to: Floats, heard_of: Floats, *, moved: Flags) -> FollowUp:
    found = course.found(life, visits)
    revision = course.revision(life, found)
    death = np.where(life.death <= heard_of, life.death, np.inf)
    failure, removal = (np.where(at <= seen_to, at, np.inf) for at in (found, life.removal))
    revision = np.where(revision <= heard_of, revision, np.inf)
    alive_to = np.minimum(seen_to, life.death)
    scans = np.where(visits <= alive_to[:, None], visits, FIRST_FILM_MONTHS).max(axis=1)
    for event in (failure, removal):
        scans = np.maximum(scans, np.where(np.isfinite(event), event, 0.0))
    contact = np.where(np.isfinite(death), death, heard_of)
    return FollowUp(failure, revision, removal, death, np.where(moved, contact, np.inf), scans, contact)
