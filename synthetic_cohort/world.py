"""What raises and lowers the risk in the invented world: log hazard ratios, chosen once, known exactly."""

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
Table = dict[str, NDArray[Any]]

# log hazard ratios of levels, in the order of the words in `codes`
CONDITION: Final = (0.15, 0.25, -0.05, 0.2, 0.45, 0.1, 0.3, 0.5, 0.55, -0.1, 0.1, 0.15, 0.0)
REDUCES: Final = (0.0, 0.1, 0.35, 0.2)  # the last: not tested
ATLAS_RING: Final = (0.0, 0.25, 0.05, 0.55, 0.4)
CONSTRUCT: Final = (0.0, 0.2, 0.7, 1.2)
GRAFT: Final = (-0.35, 0.0, 0.25, 0.5)
SUPPORT: Final = (0.0, 0.0, -0.05, -0.1)


@dataclass(frozen=True, slots=True)
class World:
    """Rates at 24 months, effects, and what no table holds (frailty).

    `failure` and `revision` are the mean risks among all children that the intercepts are solved for.
    """

    failure: float = 0.16
    revision: float = 0.11
    frailty_sd: float = 0.3
    age_per_doubling: float = -0.22
    anchor: float = -0.35
    segment: float = 0.04
    adi_per_mm: float = 0.03
    nurick: float = 0.04
    down_without_occiput: float = 0.8
    year: float = -0.02
    centre: tuple[float, ...] = field(default=(0.0, 0.25, -0.2, 0.1))


def told_log_hazard(world: World, told: Table) -> Floats:
    """(n,) the part of the log hazard of failure that the baseline columns carry."""
    age = told["age_years"]
    segments = told["lower_level"] - told["upper_level"]
    occiput = told["upper_level"] == 0
    log_hazard: Floats = (
        world.age_per_doubling * np.log2(np.clip(age, 1.5, 18.0) / 8.0)
        + np.take(CONDITION, told["condition"])
        + np.take(REDUCES, told["reduces"])
        + np.take(ATLAS_RING, told["atlas_ring"])
        + np.take(CONSTRUCT, told["construct_kind"])
        + np.take(GRAFT, told["graft_kind"])
        + np.take(SUPPORT, told["planned_support"])
        + world.anchor * (told["weaker_end_anchors"] - 2)
        + world.segment * (segments - 1)
        + world.adi_per_mm * np.nan_to_num(told["adi_mm"] - 6.0)
        + world.nurick * told["nurick_grade"]
        + world.down_without_occiput * ((told["condition"] == 0) & ~occiput)
        + world.year * (told["operation_year"] - 2017)
        + np.take(np.array(world.centre), told["centre"] % len(world.centre))
    )
    return log_hazard
