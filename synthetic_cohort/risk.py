"""The exact risk within the horizon of a child about whom everything is known.

The states free, failed but not yet found (silent), found and waiting for theatre, and alive without revision follow
linear differential equations with constant rates between visits; each piece is solved in closed form. For a state X
that is left at rate a and fed at rate f from a state that decays at rate k,
X(L) = X(0) exp(-a L) + f S(0) L exp(-a L) (exp((a - k) L) - 1) / ((a - k) L).
"""

from dataclasses import dataclass

import numpy as np

from synthetic_cohort.course import (
    AT_ONCE,
    BIOLOGICAL,
    DEATH,
    EDGES,
    FIRST_NAMED,
    HORIZON_MONTHS,
    MECHANICAL,
    OTHER_REVISION,
    REMOVAL,
    TO_THEATRE_MONTHS,
    Base,
    revised_share,
)
from synthetic_cohort.hazard import Rates
from synthetic_cohort.records import Floats

THEATRE = 1 / TO_THEATRE_MONTHS


@dataclass(frozen=True, slots=True)
class Risks:
    """Chance of each outcome within 24 months if every planned visit is kept."""

    fixation_failure: Floats
    revision: Floats


@dataclass(frozen=True, slots=True)
class Piece:
    """Constant rates per month between two visits, and the length in months."""

    length: float
    at_once: Floats
    silent: Floats
    removal: Floats
    death: Floats
    other: Floats


def exact(base: Base, rates: Rates) -> Risks:
    """Risks within the horizon; fields of `rates` broadcast, and so does the answer."""
    pieces = _pieces(base, rates)
    return Risks(_failure(pieces), _revision(pieces, revised_share(base, rates)))


def _pieces(base: Base, rates: Rates) -> list[Piece]:
    ends = np.append(EDGES[HORIZON_MONTHS > EDGES], HORIZON_MONTHS)
    pieces = []
    for place, length in enumerate(np.diff(ends).tolist()):
        mechanical = base.hazard * rates.mechanical * MECHANICAL[place]
        biological = base.hazard * rates.biological * BIOLOGICAL[place]
        named = AT_ONCE[1] if place >= FIRST_NAMED else 0.0
        at_once = AT_ONCE[0] * mechanical + named * biological
        silent = mechanical + biological - at_once
        removal, other = rates.removal * REMOVAL[place], rates.other_revision * OTHER_REVISION[place]
        pieces.append(Piece(length, at_once, silent, removal, DEATH * rates.death, other))
    return pieces


def _failure(pieces: list[Piece]) -> Floats:
    free, found = np.ones(1), np.zeros(1)
    for last, piece in _marked(pieces):
        leave = piece.at_once + piece.silent + piece.removal + piece.death
        stay = free * piece.length * _mean(-leave * piece.length)  # integral of the free state
        found = found + piece.at_once * stay
        if not last:  # the silent ones are found at the visit that ends the piece
            found = found + piece.silent * free * _fed(leave, piece.death, piece.length)
        free = free * np.exp(-leave * piece.length)
    return found


def _revision(pieces: list[Piece], revised: Floats) -> Floats:
    free, waiting, unrevised, returned = np.ones(1), np.zeros(1), np.ones(1), np.zeros(1)
    for last, piece in _marked(pieces):
        length, out = piece.length, piece.death + piece.other  # every unrevised state is left at this rate
        leave = piece.at_once + piece.silent + piece.removal + out
        queued = revised * piece.at_once * free
        still = waiting * np.exp(-(THEATRE + out) * length) + queued * _fed(leave, THEATRE + out, length)
        waited = (waiting + queued * length * _mean(-leave * length) - still) / (THEATRE + out)
        gone = waiting * np.exp(-out * length) + queued * _fed(leave, out, length) - still
        after = unrevised * np.exp(-out * length) - gone
        returned = returned + THEATRE * waited + piece.other * (unrevised - after - THEATRE * waited) / out
        if not last:
            still = still + revised * piece.silent * free * _fed(leave, out, length)
        free, waiting, unrevised = free * np.exp(-leave * length), still, after
    return returned


def _marked(pieces: list[Piece]) -> list[tuple[bool, Piece]]:
    return [(place == len(pieces) - 1, piece) for place, piece in enumerate(pieces)]


def _fed(source: Floats, drain: Floats, length: float) -> Floats:
    """Integral over a piece of exp(-source u) exp(-drain (length - u))."""
    return np.asarray(length * np.exp(-drain * length) * _mean((drain - source) * length))


def _mean(x: Floats) -> Floats:
    """(exp(x) - 1) / x, and 1 at 0."""
    small = np.abs(x) < 1e-8
    safe = np.where(small, 1.0, x)
    return np.where(small, 1.0 + x / 2, np.expm1(safe) / safe)
