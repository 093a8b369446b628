"""The construct that is planned: it follows the findings, the bone there is, and who plans (confounding by indication).

The functions that give a chance, and `planned_anchors`, are the planner; `draw` lets it decide, `truth` asks it how
likely a recorded plan was. Their arguments broadcast.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import expit

from synthetic_cohort.anatomy import Anatomy
from synthetic_cohort.children import Body
from synthetic_cohort.records import Child, Codes, Flags, Floats, Plan, pick, softmax
from synthetic_cohort.world import World

ROD_ERA_SHIFT: Final = np.array([0.0, 0.0, 4.5, 2.5])  # hooks, wires and bone alone before rods came
_OCCIPUT: Final = np.array([-1.3, -0.3, 1.4, 0.4, -1.0, 0.9, 0.1, -0.4])  # by indication
_OCCIPUT_RING: Final = np.array([0.0, 0.2, 0.0, 0.4, 0.4, 0.4])
_OCCIPUT_GROUP: Final = np.array([0.0, -0.5, 0.5, 0.6, 0.4, 0.2])
_OCCIPUT_ATLAS: Final = np.array([2.5, 1.0, 0.0])  # by C1 sides that can hold a screw
_LOWER_AXIS: Final = np.array([2.8, 1.5, 0.0])  # by C2 sides that can hold a screw
MAX_EXTRA: Final = 9


def occiput_chance(world: World, child: Child, atlas_sides: Codes, bone: Floats, surgeon: Codes) -> Floats:
    """Chance that the occiput is included."""
    logit = _OCCIPUT[child.indication] + _OCCIPUT_RING[child.ring] + _OCCIPUT_GROUP[child.group]
    logit = logit + 0.7 * (child.reduces == 2) + world.habits.occiput[child.centre, surgeon]
    return np.asarray(expit(logit + _OCCIPUT_ATLAS[atlas_sides] - 0.2 * bone))


def lower_chance(world: World, child: Child, axis_sides: Codes, bone: Floats, surgeon: Codes) -> Floats:
    """Chance that the construct goes below C2."""
    logit = -2.0 + 2.2 * (child.indication == 3) + 0.4 * (child.group == 5) + world.habits.lower[child.centre, surgeon]
    return np.asarray(expit(logit + _LOWER_AXIS[axis_sides] - 0.3 * bone))


def two_occipital_chance(child: Child) -> Floats:
    """Chance that the occiput holds two midline screws, not one; earlier removal costs keel."""
    return np.asarray(expit(2.2 - 1.2 * child.prior_surgery))


def construct_chances(
    world: World, child: Child, anchors: Codes, surgeon: Codes, *, occiput: Flags, lower: Flags
) -> Floats:
    """(..., 4) chance of each construct when so many firm anchors could be had at the weaker end."""
    years = child.year - 2016
    across = (anchors == 2) & ~occiput & ~lower & (child.reduces != 2)
    logits = [
        np.where(anchors == 0, -1.5, 0.0),
        np.where(across, -1.6 - 0.06 * years, -np.inf),
        -3.0 + 1.0 * (anchors == 1) + 1.6 * (anchors == 0) - 0.16 * years,
        -4.2 + 0.8 * (anchors == 0) - 0.12 * years,
    ]
    wired = np.asarray(child.year < (world.rods_from or 0))[..., None] * ROD_ERA_SHIFT
    habits = world.habits.construct[child.centre, surgeon]
    return softmax(np.stack(np.broadcast_arrays(*logits), axis=-1) + wired + habits)


def planned_anchors(construct: Codes, anchors: Codes) -> Codes:
    """Firm anchors that a construct uses of those to be had: hooks and wires leave at most one, bare bone none."""
    return np.asarray(np.minimum(anchors, np.array([9, 9, 1, 0])[construct]))


def graft_chances(world: World, child: Child, bone: Floats, surgeon: Codes) -> Floats:
    """(..., 4) chance of each main graft."""
    own = np.zeros(np.broadcast(bone, child.age_years).shape)
    structural = own + 0.6 - 0.3 * bone - 0.8 * (child.age_years < 4)
    donor, none = own - 0.3 + 0.05 * (child.year - 2016), own - 1.9
    logits = np.stack(np.broadcast_arrays(own, structural, donor, none), axis=-1)
    return softmax(logits + world.habits.graft[child.centre, surgeon])


def support_chances(
    world: World, child: Child, construct: Codes, bone: Floats, movements: Flags, surgeon: Codes
) -> Floats:
    """(..., 4) chance of each support."""
    bare = construct >= 2
    none, rigid = -0.9 - 1.0 * bare + 0.0 * bone, -0.6 - 0.3 * bone + 0.5 * movements
    halo = -1.5 - 0.5 * bone - 0.9 * movements + 1.0 * bare - 0.05 * (child.year - 2016)
    collar = np.zeros(np.broadcast(none, halo, rigid).shape)
    logits = np.stack(np.broadcast_arrays(none, collar, rigid, halo), axis=-1)
    return softmax(logits + world.habits.support[child.centre, surgeon])


@dataclass(frozen=True, slots=True)
class Anchorage:
    """(n,) anchors behind the plan: occipital screws, whether C1 screws join them, sides of C1 and C2 that hold."""

    plate: Codes
    joined: Flags
    atlas: Codes
    axis: Codes


def draw(rng: np.random.Generator, world: World, child: Child, body: Body, anatomy: Anatomy) -> tuple[Plan, Anchorage]:
    """Let the planner decide for each child."""
    atlas, axis = anatomy.bone.atlas_firm.sum(axis=1), anatomy.bone.axis_firm.sum(axis=1)
    n, bone, surgeon = len(atlas), body.bone, body.surgeon
    occiput = rng.random(n) < occiput_chance(world, child, atlas, bone, surgeon)
    lower = rng.random(n) < lower_chance(world, child, axis, bone, surgeon)
    plate, joined = _upper_end(rng, world, child, surgeon)
    anchors = np.minimum(np.where(occiput, plate + joined * atlas, atlas), axis + 2 * lower)
    construct = pick(rng, construct_chances(world, child, anchors, surgeon, occiput=occiput, lower=lower))
    made = Plan(
        occiput=occiput,
        extra_levels=lower * _extra(rng, child),
        construct=construct,
        anchors=planned_anchors(construct, anchors),
        graft=pick(rng, graft_chances(world, child, bone, surgeon)),
        decompression=_decompression(rng, child),
        support=pick(rng, support_chances(world, child, construct, bone, body.movements, surgeon)),
    )
    return made, Anchorage(plate, joined, atlas, axis)


def _upper_end(rng: np.random.Generator, world: World, child: Child, surgeon: Codes) -> tuple[Codes, Flags]:
    """Screws that the occiput would hold, and whether C1 screws would join them."""
    n = len(surgeon)
    plate = 1 + (rng.random(n) < two_occipital_chance(child))
    return plate, rng.random(n) < world.habits.atlas_screws_with_occiput[child.centre, surgeon]


def _extra(rng: np.random.Generator, child: Child) -> Codes:
    """Levels below C2, given that there are any: long for deformity. Nothing hidden decides it."""
    longer = np.where(child.indication == 3, 0.3, 0.7)
    return np.minimum(rng.geometric(longer), MAX_EXTRA)


def _decompression(rng: np.random.Generator, child: Child) -> Codes:
    """Bit mask of the sites; what is recorded decides, nothing hidden does."""
    tight = np.nan_to_num(child.padi_mm, nan=12.0) < 9
    chances = [
        expit(-2.6 + 1.8 * (child.indication == 1) + 1.5 * (child.indication == 2)),
        expit(-2.4 + 0.9 * (child.nurick >= 3) + 0.9 * tight + 0.7 * (child.reduces == 2)),
        np.full(len(tight), 0.02),
        np.where(child.indication == 3, 0.08, 0.01),
        np.where((child.indication == 2) & (child.reduces == 2), 0.2, 0.01),
    ]
    return np.asarray(sum((rng.random(len(tight)) < chance) << bit for bit, chance in enumerate(chances)))
