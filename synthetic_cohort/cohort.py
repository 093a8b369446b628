"""One invented cohort from one seed: children, anatomy, plans, courses, follow-up, gaps, and the truth beside them."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.optimize import brentq

from synthetic_cohort import anatomy, children, course, hazard, plan, reading, risk
from synthetic_cohort.anatomy import Anatomy
from synthetic_cohort.children import Body
from synthetic_cohort.course import Base, Life
from synthetic_cohort.hazard import Rates
from synthetic_cohort.plan import Anchorage
from synthetic_cohort.records import Child, Floats, Hidden, Plan
from synthetic_cohort.scenarios import WORLD_SEED, Scenario, setting
from synthetic_cohort.world import World

CALIBRATION_CHILDREN: Final = 20_000
CALIBRATION_SEED: Final = 7


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a cohort is made from; the same recipe gives the same bytes. `centres` None: as many as the scenario has."""

    children: int = 360
    centres: int | None = None
    seed: int = 20261125
    missing: float = 1.0
    censoring: float = 1.0
    scenario: Scenario = Scenario.PLAIN
    world_seed: int = WORLD_SEED


@dataclass(frozen=True, slots=True)
class People:
    """Children up to the end of the operation, told and hidden."""

    body: Body
    anatomy: Anatomy
    child: Child
    plan: Plan
    anchorage: Anchorage
    hidden: Hidden
    rates: Rates


@dataclass(frozen=True, slots=True)
class Cohort:
    """A cohort before any registry has written it down."""

    world: World
    base: Base
    people: People
    life: Life


def people(rng: np.random.Generator, world: World, *, number: int, shares: Floats) -> People:
    """Draw children in causal order, up to the end of the operation."""
    bodies, scans, readers, planner, theatre = rng.spawn(5)
    body = children.draw(bodies, world, children=number, centre_shares=shares)
    bones = anatomy.draw(scans, body)
    child = reading.read(readers, body, bones)
    made, anchorage = plan.draw(planner, world, child, body, bones)
    hidden = hazard.hide(theatre, world, body, bones, child, made)
    rates = hazard.rates(world, hazard.told(world, child, made), child, hidden)
    return People(body, bones, child, made, anchorage, hidden, rates)


def make(recipe: Recipe) -> Cohort:
    """Make a cohort: lives, not yet written down."""
    chosen = setting(recipe.scenario, recipe.world_seed)
    centres = recipe.centres or chosen.centres
    base = calibrate(recipe.scenario, recipe.world_seed, centres)
    before, after = np.random.default_rng(recipe.seed).spawn(2)
    drawn = people(before, chosen.world, number=recipe.children, shares=chosen.shares(centres))
    return Cohort(chosen.world, base, drawn, course.draw(after, base, drawn.rates))


@lru_cache(maxsize=64)
def calibrate(scenario: Scenario, world_seed: int, centres: int) -> Base:
    """Base hazard and base log odds of a revision at which the mean risks of a large draw are the world's."""
    chosen = setting(scenario, world_seed)
    world, rng = chosen.world, np.random.default_rng(CALIBRATION_SEED)
    rates = people(rng, world, number=CALIBRATION_CHILDREN, shares=chosen.shares(centres)).rates

    def failure(log_hazard: float) -> float:
        return float(risk.exact(Base(float(np.exp(log_hazard)), 0.0), rates).fixation_failure.mean()) - world.failure

    base = float(np.exp(brentq(failure, -12.0, 0.0, xtol=1e-10)))

    def revision(logit: float) -> float:
        return float(risk.exact(Base(base, logit), rates).revision.mean()) - world.revision

    return Base(base, float(brentq(revision, -8.0, 8.0, xtol=1e-10)))
