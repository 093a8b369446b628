"""The two truths of each child: the risk given everything, and the risk given what a model is told.

Told is what a reader records before the operation, complete: every core column but the outcomes. What is hidden enters
the course and the plan through few numbers: `room`, `bone`, the surgeon, `movements`, an anchor lost in theatre, the
reduction where it was not tested, and one pooled sum. The pooled sum takes no part in the plan; given the readings it
is normal, given the Nurick grade a normal seen through a truncated one, whose mean and variance are exact. The others
are summed over a grid, weighted by their chance before the plan times the chance of the plan that was made.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from synthetic_cohort import hazard, norms, plan, risk
from synthetic_cohort.children import movement_chance, reduction_chances
from synthetic_cohort.course import Base
from synthetic_cohort.records import NOT_TESTED, Child, Codes, Flags, Floats, Hidden, Plan, each, take
from synthetic_cohort.risk import Risks
from synthetic_cohort.world import SURGEONS, World

CHUNK: Final = 256  # children integrated at once


@dataclass(frozen=True, slots=True)
class Grid:
    """Number of nodes per continuous hidden number."""

    room: int = 8
    bone: int = 5
    pooled: int = 4


USUAL: Final = Grid()


@dataclass(frozen=True, slots=True)
class Nodes:
    """A point of the grid along its own axis: (1, room, bone, surgeon, movements, lost, pooled)."""

    room: Floats
    room_weight: Floats
    bone: Floats
    bone_weight: Floats
    surgeon: Codes
    movements: Flags
    lost: Flags
    pooled: Floats
    pooled_weight: Floats


def told(world: World, base: Base, child: Child, made: Plan, *, grid: Grid = USUAL) -> Risks:
    """Risk given what a model is told, (n,) each."""
    pieces = [
        _told(world, base, take(child, rows), take(made, rows), _nodes(grid))
        for rows in np.array_split(np.arange(len(child.year)), -(-len(child.year) // CHUNK))
    ]
    return Risks(
        np.concatenate([piece.fixation_failure for piece in pieces]),
        np.concatenate([piece.revision for piece in pieces]),
    )


def everything(world: World, base: Base, child: Child, made: Plan, hidden: Hidden) -> Risks:
    """Risk given everything but chance, (n,) each."""
    return risk.exact(base, hazard.rates(world, hazard.told(world, child, made), child, hidden))


def _nodes(grid: Grid) -> Nodes:
    room, room_weight = _normal(grid.room)
    bone, bone_weight = _normal(grid.bone)
    pooled, pooled_weight = _normal(grid.pooled)
    return Nodes(
        room=_along(room, 1),
        room_weight=_along(room_weight, 1),
        bone=_along(bone, 2),
        bone_weight=_along(bone_weight, 2),
        surgeon=_along(np.arange(SURGEONS), 3),
        movements=_along(np.array([False, True]), 4),
        lost=_along(np.array([False, True]), 5),
        pooled=_along(pooled, 6),
        pooled_weight=_along(pooled_weight, 6),
    )


def _normal(count: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return nodes, weights / weights.sum()


def _along(values: NDArray[Any], axis: int) -> NDArray[Any]:
    return values.reshape([-1 if place == axis else 1 for place in range(7)])


def _wide(values: NDArray[Any]) -> NDArray[Any]:
    return values.reshape(-1, *([1] * 6))


def _told(world: World, base: Base, child: Child, made: Plan, nodes: Nodes) -> Risks:
    ratio = hazard.told(world, child, made)
    mean, sd = pooled_moments(world, child)
    wide, planned = each(child, _wide), each(made, _wide)
    weight = _weight(world, wide, planned, nodes)
    total = weight.sum(axis=tuple(range(1, 7)))
    failure, revision = np.zeros(len(mean)), np.zeros(len(mean))
    for reduces, chance in enumerate(_reduction(child).T):
        rows = np.flatnonzero(chance)
        there = np.stack([_wide(stream[rows]) for stream in ratio])
        hidden = _hidden(nodes, reduces, _wide(mean[rows]) + _wide(sd[rows]) * nodes.pooled)
        risks = risk.exact(base, hazard.rates(world, there, take(wide, rows), hidden))
        share = chance[rows] / total[rows]
        failure[rows] += share * np.einsum("nabsmlw,nabsmlw->n", risks.fixation_failure, weight[rows])
        revision[rows] += share * np.einsum("nabsmlw,nabsmlw->n", risks.revision, weight[rows])
    return Risks(failure, revision)


def _hidden(nodes: Nodes, reduces: int, pooled: Floats) -> Hidden:
    return Hidden(
        room=nodes.room,
        bone=nodes.bone,
        surgeon=nodes.surgeon,
        movements=nodes.movements,
        reduces=np.array(reduces),
        lost_anchor=nodes.lost,
        pooled=pooled,
    )


def _reduction(child: Child) -> Floats:
    """(n, 3) chance of what a test of reduction would find: sure where it was tested."""
    untested = reduction_chances(child.condition, child.indication)
    return np.where((child.reduces == NOT_TESTED)[:, None], untested, np.eye(NOT_TESTED + 1)[child.reduces][:, :3])


def _weight(world: World, child: Child, made: Plan, nodes: Nodes) -> Floats:
    """(n, room, bone, surgeon, movements, lost, pooled) chance of the node times that of the plan made there."""
    before = nodes.room_weight * nodes.bone_weight * nodes.pooled_weight
    before = before * world.habits.share[child.centre, nodes.surgeon]
    restless = movement_chance(child.condition)
    before = before * np.where(nodes.movements, restless, 1 - restless)
    lost = hazard.lost_anchor_chance(child, made.anchors, nodes.room, nodes.bone)
    before = before * np.where(nodes.lost, lost, 1 - lost)
    graft = plan.graft_chances(world, child, nodes.bone, nodes.surgeon)
    support = plan.support_chances(world, child, made.construct, nodes.bone, nodes.movements, nodes.surgeon)
    return np.asarray(
        before
        * levels_and_anchors(world, child, made, nodes.room, nodes.bone, nodes.surgeon)
        * _chosen(graft, made.graft)
        * _chosen(support, made.support)
    )


def _chosen(chances: Floats, choice: Codes) -> Floats:
    """The chance of the choice made, from chances along the last axis."""
    return np.asarray(sum(chances[..., place] * (choice == place) for place in range(chances.shape[-1])))


def levels_and_anchors(world: World, child: Child, made: Plan, room: Floats, bone: Floats, surgeon: Codes) -> Floats:
    """Chance of levels, construct and anchors as planned, the sides of C1 and C2 and the plate summed out."""
    atlas_right = norms.atlas_firm_chance(child.group, child.artery_right)
    atlas_left = norms.atlas_firm_chance(child.group, child.artery_left)
    axis_right = norms.axis_firm_chance(child.group, child.artery_right, child.age_years, room)
    axis_left = norms.axis_firm_chance(child.group, child.artery_left, child.age_years, room)
    lower = made.extra_levels > 0
    total: Floats = np.zeros(1)
    for axis in range(3):
        at_axis = np.array(axis)
        below = plan.lower_chance(world, child, at_axis, bone, surgeon)
        below = np.where(lower, below, 1 - below) * _both(axis_right, axis_left, axis)
        above: Floats = np.zeros(1)
        for atlas in range(3):
            up = plan.occiput_chance(world, child, np.array(atlas), bone, surgeon)
            up = np.where(made.occiput, up, 1 - up) * _both(atlas_right, atlas_left, atlas)
            above = above + up * _construct(world, child, made, surgeon, atlas, axis + 2 * lower)
        total = total + below * above
    return total


def _both(right: Floats, left: Floats, count: int) -> Floats:
    """Chance that exactly `count` of two independent sides hold."""
    return np.asarray([(1 - right) * (1 - left), right * (1 - left) + left * (1 - right), right * left][count])


def _construct(world: World, child: Child, made: Plan, surgeon: Codes, atlas: int, below: Codes) -> Floats:
    """Chance of construct and anchors when C1 holds `atlas` screws and the lower end `below`."""
    two, joined = plan.two_occipital_chance(child), world.habits.atlas_screws_with_occiput[child.centre, surgeon]
    total: Floats = np.zeros(1)
    for plate, plate_chance in ((1, 1 - two), (2, two)):
        for joins, joins_chance in ((0, 1 - joined), (1, joined)):
            anchors = np.minimum(np.where(made.occiput, plate + joins * atlas, atlas), below)
            chances = plan.construct_chances(
                world, child, anchors, surgeon, occiput=made.occiput, lower=made.extra_levels > 0
            )
            fits = plan.planned_anchors(made.construct, anchors) == made.anchors
            total = total + plate_chance * joins_chance * fits * _chosen(chances, made.construct)
    return total


def pooled_moments(world: World, child: Child) -> tuple[Floats, Floats]:
    """(n,) mean and SD of the pooled hidden part, given the readings and the Nurick grade."""
    adi, canal = norms.adi_loadings_mm(child.condition), norms.canal_loadings_mm(child.condition)
    pooled = hazard.pooled_loadings(world, child.condition)
    mean = np.stack(
        [
            hazard.pooled_mean(world, child.condition),
            norms.adi_mean_mm(child.condition),
            norms.canal_mean_mm(child.condition, child.age_years),
        ],
        axis=1,
    )
    loads = np.stack([pooled, adi, canal], axis=1)
    spread = loads @ loads.transpose(0, 2, 1)
    mean, spread = _condition(mean, spread, 1, child.adi_mm, norms.ADI_READER_SD_MM)
    mean, spread = _condition(mean, spread, 2, child.padi_mm, norms.CANAL_READER_SD_MM)
    return _truncate(mean, spread, child.nurick)


def _condition(mean: Floats, spread: Floats, place: int, value: Floats, reader_sd: float) -> tuple[Floats, Floats]:
    """Normal moments (n, q), (n, q, q) given a reading of one coordinate; NaN tells nothing."""
    gain = spread[:, :, place] / (spread[:, place, place] + reader_sd**2)[:, None]
    gain = np.where(np.isnan(value)[:, None], 0.0, gain)
    surprise = np.where(np.isnan(value), 0.0, value - mean[:, place])
    return mean + gain * surprise[:, None], spread - gain[:, :, None] * spread[:, None, :, place]


def _truncate(mean: Floats, spread: Floats, grade: Codes) -> tuple[Floats, Floats]:
    """Mean and SD of the first coordinate, given that the sign behind the Nurick grade lies between its cuts."""
    slope = -norms.NURICK_PER_MM
    sd = np.sqrt(1.0 + slope**2 * spread[:, 2, 2])
    centre = norms.NURICK_PER_MM * (13.0 - mean[:, 2])
    cuts = np.concatenate([[-40.0], norms.NURICK_CUTS, [40.0]])
    low, high = (cuts[np.maximum(grade, 0)] - centre) / sd, (cuts[grade + 1] - centre) / sd
    inside = np.maximum(ndtr(high) - ndtr(low), 1e-300)
    at_low, at_high = np.exp(-(low**2) / 2) / np.sqrt(2 * np.pi), np.exp(-(high**2) / 2) / np.sqrt(2 * np.pi)
    shift = (at_low - at_high) / inside
    shrink = 1 + (low * at_low - high * at_high) / inside - shift**2
    load = slope * spread[:, 0, 2] / sd
    known = grade >= 0
    moved = np.where(known, mean[:, 0] + load * shift, mean[:, 0])
    variance = np.where(known, spread[:, 0, 0] - load**2 * (1 - shrink), spread[:, 0, 0])
    return moved, np.sqrt(np.maximum(variance, 0.0))
