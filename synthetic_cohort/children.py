"""Children as they come: centre, year, condition, age, the clinical picture, and what is hidden in bone and muscle."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from synthetic_cohort import casemix, codes
from synthetic_cohort.records import Codes, Flags, Floats, pick, softmax
from synthetic_cohort.world import World

FIRST_YEAR: Final = 2009
LAST_YEAR: Final = 2024
AGE_LOG_SD: Final = 0.42
WALKS_AT_YEARS: Final = 2.0  # below this the Nurick grade does not apply

# chance of each indication by group; the order of codes.INDICATION
_PICTURE: Final = np.array(
    [
        [0.55, 0.10, 0.10, 0.08, 0.05, 0.08, 0.02, 0.02],
        [0.78, 0.10, 0.03, 0.03, 0.02, 0.02, 0.02, 0.00],
        [0.50, 0.24, 0.07, 0.11, 0.01, 0.04, 0.02, 0.01],
        [0.48, 0.40, 0.02, 0.05, 0.01, 0.03, 0.01, 0.00],
        [0.15, 0.15, 0.58, 0.06, 0.02, 0.03, 0.01, 0.00],
        [0.45, 0.12, 0.20, 0.13, 0.03, 0.05, 0.01, 0.01],
    ]
)
_MOVEMENTS: Final = np.where(np.array(casemix.CONDITION) == "cerebral_palsy_dystonia", 0.75, 0.05)
# bone density (Z) by group: mean, and the SD about it that `bone` measures
DENSITY_MEAN: Final = np.array([-0.3, -0.6, -1.0, -1.1, -2.6, -0.4])
DENSITY_SD: Final = 1.0


@dataclass(frozen=True, slots=True)
class Body:
    """(n,) each: the child before anything is measured."""

    centre: Codes
    surgeon: Codes
    year: Codes
    year_part: Floats
    condition: Codes
    group: Codes
    age_years: Floats
    sex: Codes
    indication: Codes
    prior_surgery: Codes
    height_z: Floats
    laxity: Floats
    bone: Floats
    movements: Flags


def draw(rng: np.random.Generator, world: World, *, children: int, centre_shares: Floats) -> Body:
    """Draw children; `centre_shares` (centres,) sum to 1."""
    centre = np.sort(rng.choice(len(centre_shares), size=children, p=centre_shares))
    condition = rng.choice(len(casemix.SHARE), size=children, p=casemix.SHARE)
    group = casemix.GROUP_OF[condition]
    age = casemix.MEAN_AGE_YEARS[condition] * np.exp(rng.normal(-(AGE_LOG_SD**2) / 2, AGE_LOG_SD, children))
    indication = pick(rng, _PICTURE[group])
    return Body(
        centre=centre,
        surgeon=pick(rng, world.habits.share[centre]),
        year=rng.integers(FIRST_YEAR, LAST_YEAR + 1, children),
        year_part=rng.random(children),
        condition=condition,
        group=group,
        age_years=np.round(_between(age, 1.5, 17.9), 1),
        sex=rng.integers(0, len(codes.SEX), children),
        indication=indication,
        prior_surgery=_earlier(rng, indication),
        height_z=rng.standard_normal(children) - 2.5 * np.isin(group, (2, 3)),
        laxity=rng.standard_normal(children),
        bone=rng.standard_normal(children),
        movements=rng.random(children) < movement_chance(condition),
    )


def movement_chance(condition: Codes) -> Floats:
    """Chance of involuntary movements, which no core column holds."""
    return np.asarray(_MOVEMENTS[condition])


def reduction_chances(condition: Codes, indication: Codes) -> Floats:
    """(..., 3) chance of reducing awake, under traction, not under traction: what a test would find."""
    group = casemix.GROUP_OF[condition]
    stiff = np.where(indication == 2, 1.6, 0.0) + np.where(indication == 3, 1.2, 0.0) + np.where(group == 5, 0.6, 0.0)
    lax = np.where(group == 1, 0.8, 0.0)
    return softmax(np.stack([0.5 + lax - 0.4 * stiff, np.zeros_like(stiff), -0.8 + 0.6 * stiff - lax], axis=-1))


def _earlier(rng: np.random.Generator, indication: Codes) -> Codes:
    sure = np.isin(indication, (5, 6)).astype(np.int64)
    return np.minimum(sure + (rng.random(len(indication)) < 0.1) + (rng.random(len(indication)) < 0.02), 3)


def _between(age: Floats, low: float, high: float) -> Floats:
    """Ages folded back at the ends of the range, so that none piles up there."""
    age = np.where(age < low, 2 * low - age, age)
    age = np.where(age > high, 2 * high - age, age)
    return np.asarray(np.clip(age, low, high))
