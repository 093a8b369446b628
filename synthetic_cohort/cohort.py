"""One invented cohort from one seed: children, plans, courses, follow-up, gaps, and the truth beside them."""

from dataclasses import dataclass

import numpy as np

from synthetic_cohort import children, course, plan, recording, visits
from synthetic_cohort.world import Floats, Table, World, told_log_hazard

CALIBRATION_CHILDREN = 20_000
CALIBRATION_SEED = 7


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a cohort is made from; the same recipe gives the same bytes."""

    children: int = 360
    centres: int = 4
    seed: int = 20261125
    missing: float = 1.0
    censoring: float = 1.0


@dataclass(frozen=True, slots=True)
class Cohort:
    """`children`: the table as text, column by column; `truth`: (n,) true risks within 24 months by name."""

    children: dict[str, list[str]]
    truth: dict[str, Floats]


def make(recipe: Recipe, world: World | None = None) -> Cohort:
    """Make a cohort."""
    world = world or World()
    base, share = _calibrate(world)
    life, follow_up, gaps = np.random.default_rng(recipe.seed).spawn(3)
    told, ratio = _children(life, world, recipe.children, recipe.centres)
    ratio, revised = ratio * base, np.full(recipe.children, share)
    seen = visits.follow(follow_up, told, course.draw(life, ratio, revised), censoring=recipe.censoring)
    table = recording.words(told, seen)
    recording.leave_gaps(gaps, table, told, missing=recipe.missing)
    failure, revision = course.risks(ratio, revised)
    return Cohort(table, {"fixation_failure": failure, "revision": revision})


def _children(rng: np.random.Generator, world: World, number: int, centres: int) -> tuple[Table, Floats]:
    told = children.draw(rng, children=number, centres=centres)
    told |= plan.draw(rng, told)
    frailty = rng.normal(0, world.frailty_sd, number)
    return told, np.exp(told_log_hazard(world, told) + frailty)


def _calibrate(world: World) -> tuple[float, float]:
    """Base hazard and revised share at which the mean risks of a large draw are the world's."""
    _, ratio = _children(np.random.default_rng(CALIBRATION_SEED), world, CALIBRATION_CHILDREN, 4)
    low, high, share = 1e-4, 1.0, 0.6
    for _ in range(40):
        base = np.sqrt(low * high)
        failure, revision = course.risks(ratio * base, np.full(len(ratio), share))
        low, high = (base, high) if failure.mean() < world.failure else (low, base)
        share = float(np.clip(share + (world.revision - revision.mean()) / world.failure, 0.1, 0.95))
    return float(base), share
