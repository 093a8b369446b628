"""The invented worlds to choose from: one world, and what each scenario changes in it."""

from dataclasses import dataclass, replace
from enum import Enum
from types import MappingProxyType
from typing import Final

import numpy as np

from synthetic_cohort import casemix, world
from synthetic_cohort.records import Floats
from synthetic_cohort.world import World

WORLD_SEED: Final = 18  # the first world inside every published range (README)
STRONG_CONDITION: Final = "osteogenesis_imperfecta"
STRONG_LOG_RATIO: Final = 2.3


class Scenario(Enum):
    """Which invented world."""

    PLAIN = "plain"
    RARE = "rare"
    SMALL_CENTRES = "small_centres"
    DRIFT = "drift"
    NOISE = "noise"
    STRONG_SYNDROME = "strong_syndrome"
    WIRE_ERA = "wire_era"
    DIRTY = "dirty"


@dataclass(frozen=True, slots=True)
class Setting:
    """A world, how many centres a cohort has unless asked otherwise, and how unequal they are.

    Each centre is `taper` times as large as the one before it.
    """

    world: World
    centres: int = 4
    taper: float = 0.85

    def shares(self, centres: int) -> Floats:
        """(centres,) share of the children in each."""
        sizes = self.taper ** np.arange(centres)
        return np.asarray(sizes / sizes.sum())


def setting(scenario: Scenario, world_seed: int = WORLD_SEED) -> Setting:
    """The world of a scenario. `dirty` is `plain`, written as a messy registry."""
    plain = world.draw(world_seed)
    made = {
        Scenario.RARE: lambda: replace(plain, failure=0.06, revision=0.04),
        Scenario.SMALL_CENTRES: lambda: replace(plain, centre=2.0 * plain.centre),
        Scenario.DRIFT: lambda: replace(plain, halved_from=2018),
        Scenario.NOISE: lambda: _without_effects(plain),
        Scenario.STRONG_SYNDROME: lambda: _with_strong_condition(plain),
        Scenario.WIRE_ERA: lambda: _with_wires(plain),
    }
    chosen = made[scenario]() if scenario in made else plain
    return Setting(chosen, centres=14, taper=0.9) if scenario is Scenario.SMALL_CENTRES else Setting(chosen)


def _without_effects(plain: World) -> World:
    """Nothing in any table, and nothing hidden, has to do with what happens."""
    effects = {name: np.zeros_like(values) for name, values in plain.effects.items()}
    habits = replace(plain.habits, skill=np.zeros_like(plain.habits.skill))
    return replace(
        plain,
        effects=MappingProxyType(effects),
        centre=np.zeros_like(plain.centre),
        removal=np.ones_like(plain.removal),
        revised=np.zeros_like(plain.revised),
        habits=habits,
    )


def _with_strong_condition(plain: World) -> World:
    """The condition's whole effect, that of its group included, is what is asked for."""
    place = casemix.CONDITION.index(STRONG_CONDITION)
    condition = plain.effects["condition"].copy()
    condition[:, place] = STRONG_LOG_RATIO - plain.effects["group"][:, casemix.GROUP_OF[place]]
    return plain.changed(condition=condition)


def _with_wires(plain: World) -> World:
    construct = np.array([[0.0, 0.2, 1.2, 1.6], [0.0, 0.2, 1.2, 1.6]])
    return replace(plain.changed(construct=construct), rods_from=2016)
