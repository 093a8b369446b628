"""Time to each event: piecewise constant hazards, so that every risk has a closed form.

A failure is found at once when it hurts, otherwise at the next planned visit; a found failure is revised or lived
with. Planned removal and death end the chance of a failure, death alone that of a revision.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from synthetic_cohort.world import Floats

# planned visits (months); the hazards change there and nowhere else. The two-year visit is at month 23.
EDGES: Final = np.array([0.0, 1.5, 3.0, 6.0, 12.0, 23.0, 35.0, 47.0, 59.0, 71.0, 83.0, 95.0, 107.0, 119.0])
FAILURE: Final = np.array([0.5, 0.9, 1.2, 1.1, 1.0, 0.35, 0.15, 0.1, 0.1, 0.05, 0.05, 0.05, 0.05])
REMOVAL: Final = np.array([0.0, 0.0, 0.0, 0.0, 0.0012, 0.002, 0.001, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
OTHER_REVISION: Final = np.array([0.004, 0.0, 0.0, 0.0006, 0.0004, *([0.0003] * 8)])
DEATH: Final = 0.0004
FOUND_AT_ONCE: Final = 0.45
REVISED_DELAY: Final = 1.2  # months, mean, from finding to theatre
HORIZON: Final = 24.0


@dataclass(frozen=True, slots=True)
class Times:
    """(n,) months from the operation to each event; infinite where it never comes."""

    failure_found: Floats
    revision: Floats
    removal: Floats
    death: Floats


def draw(rng: np.random.Generator, hazard_ratio: Floats, revised_share: Floats) -> Times:
    """Draw one life of each child.

    `hazard_ratio` (n,) multiplies the failure hazard, `revised_share` (n,) in [0, 1] is the chance that a found failure
    is revised.
    """
    n = len(hazard_ratio)
    death = rng.exponential(1 / DEATH, n)
    removal = _first(rng, np.tile(REMOVAL, (n, 1)))
    failure = _first(rng, hazard_ratio[:, None] * FAILURE)
    failure[failure > np.minimum(removal, death)] = np.inf
    at_once = rng.random(n) < FOUND_AT_ONCE
    found = np.where(at_once, failure, next_visit(failure))
    removal[removal > failure] = np.inf
    delay = np.where(rng.random(n) < revised_share, rng.exponential(REVISED_DELAY, n), np.inf)
    revision = np.minimum(found + delay, _first(rng, np.tile(OTHER_REVISION, (n, 1))))
    found[found > death], revision[revision > death], removal[removal > death] = np.inf, np.inf, np.inf
    return Times(found, revision, removal, death)


def next_visit(months: Floats) -> Floats:
    """(n,) the planned visit at or after each time."""
    place = np.searchsorted(EDGES, months, side="left")
    return np.where(place < len(EDGES), EDGES[np.minimum(place, len(EDGES) - 1)], np.inf)


def _first(rng: np.random.Generator, hazards: Floats) -> Floats:
    """(n,) time of the first event under hazards (n, pieces), by inverting the cumulative hazard."""
    cumulative = np.concatenate([np.zeros((len(hazards), 1)), np.cumsum(hazards * np.diff(EDGES), axis=1)], axis=1)
    target = rng.exponential(1.0, len(hazards))
    piece = (cumulative[:, 1:] < target[:, None]).sum(axis=1)
    inside = piece < hazards.shape[1]
    rows = np.flatnonzero(inside)
    times = np.full(len(hazards), np.inf)
    times[rows] = EDGES[piece[rows]] + (target[rows] - cumulative[rows, piece[rows]]) / hazards[rows, piece[rows]]
    return times


def _ratio(x: Floats) -> Floats:
    """(e^x - 1) / x, 1 at 0."""
    safe = np.where(np.abs(x) < 1e-9, 1.0, x)
    return np.where(np.abs(x) < 1e-9, 1.0, np.expm1(safe) / safe)


def risks(hazard_ratio: Floats, revised_share: Floats) -> tuple[Floats, Floats]:
    """Risk of a found failure and of a revision within 24 months, exactly.

    The states free (S), failed and not yet found (M), found and waiting for theatre (W), and alive and unrevised (U)
    follow linear equations with constant rates between visits; each piece is solved in closed form.
    """
    edges = np.append(EDGES[HORIZON > EDGES], HORIZON)
    free, silent, waiting, unrevised, found, revised = (np.zeros_like(hazard_ratio) for _ in range(6))
    free += 1.0
    unrevised += 1.0
    for piece, length in enumerate(np.diff(edges)):
        failing, other = hazard_ratio * FAILURE[piece], OTHER_REVISION[piece]
        leave, wait = failing + REMOVAL[piece] + DEATH, 1 / REVISED_DELAY + DEATH
        stay = length * np.exp(-DEATH * length)
        lost = stay * _ratio(-(leave - DEATH) * length)  # integral of exp(-leave u) exp(-death (length - u))
        into_wait = FOUND_AT_ONCE * failing * revised_share * free * length * np.exp(-wait * length)
        new_waiting = waiting * np.exp(-wait * length) + into_wait * _ratio((wait - leave) * length)
        at_once = FOUND_AT_ONCE * failing * free * length * _ratio(-leave * length)
        silent = silent * np.exp(-DEATH * length) + (1 - FOUND_AT_ONCE) * failing * free * lost
        to_theatre = (waiting + revised_share * at_once - new_waiting) * (1 / REVISED_DELAY) / wait
        alive = unrevised
        unrevised = alive * np.exp(-DEATH * length) - to_theatre
        revised = revised + to_theatre + (alive - to_theatre) * -np.expm1(-other * length)
        unrevised = unrevised * np.exp(-other * length)
        waiting, free, found = new_waiting, free * np.exp(-leave * length), found + at_once
        if edges[piece + 1] < HORIZON:
            found, waiting, silent = found + silent, waiting + revised_share * silent, np.zeros_like(silent)
    return found, revised
