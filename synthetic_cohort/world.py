"""What raises and lowers the risk in an invented world, drawn once from a seed of its own and known exactly.

Effects are log hazard ratios on two streams of failure: mechanical (loosening, pull-out, breakage, spacer, lost
reduction) and biological (non-union). Their centres and spreads are set here, wider than what one would assume before
seeing data, and one effect in four is drawn around the opposite direction: a world is there to be found out, not to
agree. All sizes: own, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

import numpy as np

from synthetic_cohort import casemix, codes
from synthetic_cohort.records import Floats

MAX_CENTRES: Final = 99
SURGEONS: Final = 3  # per centre; a surgeon is never written anywhere
CONTRARY: Final = 0.25
AGAINST: Final = -0.5  # a contrary effect is drawn around minus half the usual centre


@dataclass(frozen=True, slots=True)
class Term:
    """A row of the table of effects: usual centre per level, spread, and how far it acts on either stream."""

    centres: tuple[float, ...]
    spread: float
    mechanical: float = 1.0
    biological: float = 1.0


TERMS: Final[Mapping[str, Term]] = MappingProxyType(
    {
        "age_doubling": Term((-0.15,), 0.25),
        "age_bow": Term((0.0,), 0.06),
        "group": Term((0.0, 0.2, 0.2, 0.1, 0.3, 0.0), 0.40),
        "condition": Term((0.0,) * len(casemix.CONDITION), 0.38),
        "down": Term((0.3,), 0.5),
        "prior_surgery": Term((0.15,), 0.35),
        "nurick": Term((0.03,), 0.10),
        "indication": Term((0.0,) * len(codes.INDICATION), 0.20),
        "reduces": Term((0.0, 0.2, 0.45), 0.25, 1.0, 0.5),
        "ring": Term((0.0, 0.15, 0.05, 0.45, 0.35, 0.3), 0.42),
        "occiput": Term((0.15,), 0.40),
        "segment": Term((0.05,), 0.14, 1.0, 0.6),
        "construct": Term((0.0, 0.3, 0.7, 1.2), 0.45),
        "anchor": Term((-0.25,), 0.20, 1.2, 0.6),
        "graft": Term((0.0, -0.4, 0.25, 0.45), 0.42, 0.4, 1.6),
        "decompression": Term((0.1,), 0.20, 0.6, 1.4),
        "support": Term((0.0, 0.0, 0.0, 0.0), 0.25),
        "decade": Term((-0.2,), 0.30),
        "down_without_occiput": Term((0.9,), 0.5),
        "not_rigid_in_dysplasia": Term((0.5,), 0.5),
        "room": Term((-0.2,), 0.20, 1.3, 0.3),
        "bone": Term((-0.2,), 0.15),
        "movements": Term((0.4,), 0.40, 1.3, 0.7),
        "lost_anchor": Term((0.5,), 0.20, 1.2, 0.5),
        "adi_per_mm": Term((0.03,), 0.06),
        "laxity": Term((0.1,), 0.10),
        "gap_per_mm": Term((0.1,), 0.25),
        "tilt": Term((0.05,), 0.08),
        "clivo_axial": Term((0.05,), 0.08),
        "frailty": Term((0.35,), 0.03),
    }
)
POOLED: Final = np.array([1.0, 0.6])  # how far the pooled hidden part acts on either stream


@dataclass(frozen=True, slots=True)
class Habits:
    """Surgeons, (centres, SURGEONS) each or with a further axis of choices: skill and what each likes to do."""

    share: Floats
    skill: Floats
    occiput: Floats
    lower: Floats
    atlas_screws_with_occiput: Floats
    construct: Floats
    graft: Floats
    support: Floats


@dataclass(frozen=True, slots=True)
class World:
    """One invented world.

    `effects`: name -> (2, k) log hazard ratios, mechanical above biological. `centre` (centres,): log hazard ratio.
    `removal` (centres,): how often implants are planned out, times the usual. `revised` (centres,): log odds that a
    found failure is revised, beside the usual. `failure`, `revision`: mean risks within 24 months that the base rates
    are solved for. `halved_from`: year from which the risk is halved. `rods_from`: year before which hooks, wires and
    bone alone were the rule.
    """

    effects: Mapping[str, Floats]
    centre: Floats
    removal: Floats
    revised: Floats
    habits: Habits
    failure: float = 0.16
    revision: float = 0.11
    halved_from: int | None = None
    rods_from: int | None = None

    def changed(self, **effects: Floats) -> "World":
        """The same world with some effects replaced."""
        return replace(self, effects=MappingProxyType({**self.effects, **effects}))


def draw(seed: int) -> World:
    """Draw a world; it holds more centres than a cohort usually has, so that a further centre changes no other."""
    terms, places = np.random.default_rng(seed).spawn(2)
    effects = {name: _effect(terms, term) for name, term in TERMS.items()}
    effects["group"][:, 0] = effects["condition"][:, 0] = effects["ring"][:, 0] = effects["construct"][:, 0] = 0.0
    effects["reduces"][:, 0] = effects["graft"][:, 0] = effects["indication"][:, 0] = effects["support"][:, 0] = 0.0
    effects["frailty"] = np.abs(effects["frailty"])
    return World(
        effects=MappingProxyType(effects),
        centre=_spread(places, 0.2, MAX_CENTRES),
        removal=np.exp(_spread(places, 0.7, MAX_CENTRES)),
        revised=_spread(places, 0.3, MAX_CENTRES),
        habits=_habits(places),
    )


def _effect(rng: np.random.Generator, term: Term) -> Floats:
    direction = AGAINST if rng.random() < CONTRARY else 1.0
    values = direction * np.array(term.centres) + term.spread * rng.standard_normal(len(term.centres))
    return np.outer([term.mechanical, term.biological], values)


def _spread(rng: np.random.Generator, sd: float, *shape: int) -> Floats:
    return sd * rng.standard_normal(shape)


def _habits(rng: np.random.Generator) -> Habits:
    each = (MAX_CENTRES, SURGEONS)
    weights = rng.gamma(4.0, 1.0, each)
    return Habits(
        share=weights / weights.sum(axis=1, keepdims=True),
        skill=_spread(rng, 0.2, *each),
        occiput=_spread(rng, 0.5, *each),
        lower=_spread(rng, 0.3, *each),
        atlas_screws_with_occiput=rng.uniform(0.15, 0.7, each),
        construct=_spread(rng, 0.5, *each, len(codes.CONSTRUCT)),
        graft=_spread(rng, 0.7, *each, len(codes.GRAFT)),
        support=_spread(rng, 0.6, *each, len(codes.SUPPORT)),
    )
