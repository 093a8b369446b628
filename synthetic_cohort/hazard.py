"""From a child, its hidden part and its plan to the hazards: where the invented effects act."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import expit

from synthetic_cohort import casemix, norms
from synthetic_cohort.anatomy import Anatomy
from synthetic_cohort.children import Body
from synthetic_cohort.records import Child, Codes, Flags, Floats, Hidden, Plan
from synthetic_cohort.world import POOLED, World

AGE_CENTRE_YEARS: Final = 8.0
YEAR_CENTRE: Final = 2016
DRIFT: Final = np.log(0.42)  # on the hazard; a risk is no rate, and this halves the risk
POOLED_TERMS: Final = ("laxity", "adi_per_mm", "gap_per_mm", "tilt", "clivo_axial", "frailty")
_OTHER_ROOM: Final = -0.4  # tight bone: screws that have to be placed again


@dataclass(frozen=True, slots=True)
class Rates:
    """What multiplies the base rates of `course`; all broadcast.

    `mechanical`, `biological`: hazard ratios of the two streams; `other_revision`, `removal`, `death`: hazard ratios;
    `revised_logit`: log odds that a found failure is revised, without the world's base.
    """

    mechanical: Floats
    biological: Floats
    other_revision: Floats
    removal: Floats
    death: Floats
    revised_logit: Floats


def told(world: World, child: Child, plan: Plan) -> Floats:
    """(2, n) log hazard ratios that what is recorded carries: mechanical above biological."""
    effect = world.effects
    doubling = np.log2(np.clip(child.age_years, 1.5, 18.0) / AGE_CENTRE_YEARS)
    sites = np.bitwise_count(plan.decompression)
    down, bare = child.condition == casemix.DOWN, plan.construct >= 2
    log_ratio = sum(effect[name][:, codes] for name, codes in _levels(child, plan).items())
    amounts = {
        "age_doubling": doubling,
        "age_bow": doubling**2,
        "down": down,
        "prior_surgery": np.minimum(child.prior_surgery, 2),
        "nurick": np.maximum(child.nurick, 0),
        "occiput": plan.occiput,
        "segment": np.minimum(plan.segments - 1, 8),
        "anchor": np.minimum(plan.anchors, 4) - 2,
        "decompression": np.minimum(sites, 2),
        "decade": (child.year - YEAR_CENTRE) / 10,
        "down_without_occiput": down & ~plan.occiput,
        "not_rigid_in_dysplasia": bare & (child.group == casemix.DYSPLASIA),
    }
    for name, amount in amounts.items():
        log_ratio = log_ratio + effect[name] * amount
    drift = DRIFT * (child.year >= (world.halved_from or 9999))
    return np.asarray(log_ratio + world.centre[child.centre] + drift)


def _levels(child: Child, plan: Plan) -> dict[str, Codes]:
    return {
        "group": child.group,
        "condition": child.condition,
        "indication": child.indication,
        "ring": child.ring,
        "construct": plan.construct,
        "graft": plan.graft,
        "support": plan.support,
    }


def rates(world: World, told_ratio: Floats, child: Child, hidden: Hidden) -> Rates:
    """Everything together. `told_ratio` (2, ...) broadcasts against the hidden fields."""
    effect = world.effects
    skill = world.habits.skill[child.centre, hidden.surgeon]
    streams = []
    for stream in range(2):
        log_ratio = told_ratio[stream] + effect["reduces"][stream, hidden.reduces] + skill
        for name in ("room", "bone", "movements", "lost_anchor"):
            log_ratio = log_ratio + effect[name][stream, 0] * getattr(hidden, name)
        streams.append(np.exp(log_ratio + POOLED[stream] * hidden.pooled))
    active = 1.0 if effect["room"].any() else 0.0
    return Rates(
        mechanical=streams[0],
        biological=streams[1],
        other_revision=np.exp(active * (_OTHER_ROOM * hidden.room) + skill),
        removal=world.removal[child.centre],
        death=np.where(child.group == 3, 2.0, 1.0),
        revised_logit=0.5 * (child.nurick >= 3) + world.revised[child.centre],
    )


def lost_anchor_chance(child: Child, anchors: Codes, room: Floats, bone: Floats) -> Floats:
    """Chance that a planned anchor cannot be had in theatre."""
    return np.asarray(expit(-2.4 - 0.5 * room - 0.3 * bone + 0.3 * (child.prior_surgery > 0)) * (anchors > 0))


def pooled_loadings(world: World, condition: Codes) -> Floats:
    """(n, len(norms.CAUSES)) how the independent causes move the pooled hidden log hazard ratio."""
    size = {name: float(world.effects[name][0, 0]) for name in POOLED_TERMS}
    loads = size["adi_per_mm"] * norms.adi_loadings_mm(condition) + size["gap_per_mm"] * norms.gap_loadings_mm()
    loads[..., 0] += size["laxity"]
    loads[..., 4:] += [size["tilt"], size["clivo_axial"], size["frailty"]]
    return loads


def pooled_mean(world: World, condition: Codes) -> Floats:
    """Mean of the pooled part: the interval counts from its mean over all operated children."""
    centre = float(casemix.SHARE @ casemix.ADI_MEAN_MM)
    return np.asarray(world.effects["adi_per_mm"][0, 0] * (norms.adi_mean_mm(condition) - centre))


def hide(rng: np.random.Generator, world: World, body: Body, anatomy: Anatomy, child: Child, plan: Plan) -> Hidden:
    """What actually held for each child, once theatre is over."""
    lost = lost_anchor_chance(child, plan.anchors, anatomy.bone.room, body.bone)
    pooled = (pooled_loadings(world, body.condition) * anatomy.causes).sum(axis=1)
    return Hidden(
        room=anatomy.bone.room,
        bone=body.bone,
        surgeon=body.surgeon,
        movements=body.movements,
        reduces=anatomy.reduces,
        lost_anchor=_happens(rng, lost),
        pooled=pooled_mean(world, body.condition) + pooled,
    )


def _happens(rng: np.random.Generator, chance: Floats) -> Flags:
    return np.asarray(rng.random(chance.shape) < chance)
