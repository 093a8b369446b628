"""Means, spreads and chances of the anatomy, as functions of what is recorded: one place for drawing and for the truth.

Distances are linear in independent standard normal causes (`CAUSES`), so that everything about them that a reader's
values do not settle has a closed form (`truth`). Corridors share the child's `room`; the sides differ beside it.
"""

from typing import Final

import numpy as np
from scipy.special import ndtr

from synthetic_cohort import casemix
from synthetic_cohort.records import NOT_IMAGED, Codes, Floats

CAUSES: Final = ("laxity", "shift", "canal", "joint", "tilt", "skull_base", "unmeasured")
ADI_READER_SD_MM: Final = 0.6
CANAL_READER_SD_MM: Final = 0.7
CANAL_OWN_SD_MM: Final = 1.6
CANAL_PER_ADI: Final = -0.5
NURICK_CUTS: Final = np.array([-0.9, 0.05, 0.9, 1.7, 2.5])
NURICK_PER_MM: Final = 0.22
GAP_MEAN_MM: Final = 4.0
GAP_SD_MM: Final = 0.9

# usual, high-riding, over the C1 entry, absent; per side and group
ARTERY: Final = np.array(
    [
        [0.80, 0.145, 0.04, 0.015],
        [0.72, 0.16, 0.10, 0.02],
        [0.74, 0.20, 0.04, 0.02],
        [0.78, 0.17, 0.03, 0.02],
        [0.74, 0.20, 0.04, 0.02],
        [0.52, 0.30, 0.13, 0.05],
    ]
)
OPEN_KINDS: Final = np.array([0.0, 0.56, 0.10, 0.18, 0.11, 0.05])  # of a ring open beyond the usual age
MASS_ABSENT: Final = np.array([0.02, 0.02, 0.05, 0.03, 0.02, 0.09])
ENTRY_BLOCKED: Final = 0.7  # an artery over the C1 entry rules the screw out this often
_PEDICLE_SHIFT_MM: Final = np.array([0.0, 0.0, -0.35, -0.2, -0.1, -0.3])
HIGH_RIDING_MM: Final = -1.3
PEDICLE_SIDE_SD_MM: Final = 0.55
PEDICLE_ROOM_MM: Final = 0.55
LAMINA_SIDE_SD_MM: Final = 0.90
LAMINA_ROOM_MM: Final = 0.55
LAMINA_CLOSED: Final = 0.97
CLEARANCE_MM: Final = 0.5


def screw_mm(age_years: Floats) -> Floats:
    """Diameter asked for."""
    return np.where(age_years < 5, 3.0, 3.5)


def pedicle_mean_mm(age_years: Floats, group: Codes) -> Floats:
    """Mean C2 pedicle width with a usual artery: 3.85 at 2 and 4.18 at 6 years in unaffected children."""
    return np.asarray(3.85 + 0.0825 * (np.minimum(age_years, 15) - 2) + _PEDICLE_SHIFT_MM[group])


def lamina_mean_mm(age_years: Floats) -> Floats:
    """Mean outer thickness of a C2 lamina."""
    return np.asarray(4.55 + 0.075 * (np.minimum(age_years, 15) - 2))


def adi_mean_mm(condition: Codes) -> Floats:
    """Mean true interval of an operated child."""
    return np.asarray(casemix.ADI_MEAN_MM[condition])


def canal_mean_mm(condition: Codes, age_years: Floats) -> Floats:
    """Mean true room for the cord; it grows a little."""
    return np.asarray(casemix.CANAL_MEAN_MM[condition] + 0.1 * (np.minimum(age_years, 15) - 8))


def adi_loadings_mm(condition: Codes) -> Floats:
    """(n, len(CAUSES)) how the causes move the interval."""
    loads = np.zeros((*np.shape(condition), len(CAUSES)))
    loads[..., 0] = 0.5
    loads[..., 1] = np.sqrt(0.75)
    return np.asarray(loads * casemix.ADI_SD_MM[condition][..., None])


def canal_loadings_mm(condition: Codes) -> Floats:
    """(n, len(CAUSES)) how the causes move the room for the cord."""
    loads = CANAL_PER_ADI * adi_loadings_mm(condition)
    loads[..., 2] = CANAL_OWN_SD_MM
    return loads


def gap_loadings_mm() -> Floats:
    """(len(CAUSES),) how the causes move the joint gap under traction, mean of the sides."""
    loads = np.zeros(len(CAUSES))
    loads[[0, 3]] = 0.5 * GAP_SD_MM, np.sqrt(0.75) * GAP_SD_MM
    return loads


def artery_chances(group: Codes, told: Codes) -> Floats:
    """(..., 4) chance of each true course on one side, given what is recorded."""
    return np.where((told == NOT_IMAGED)[..., None], ARTERY[group], np.eye(NOT_IMAGED + 1)[told][..., :NOT_IMAGED])


def atlas_firm_chance(group: Codes, told: Codes) -> Floats:
    """Chance that one side of C1 can hold a screw, given what is recorded of its artery."""
    over = artery_chances(group, told)[..., 2]
    return np.asarray((1 - MASS_ABSENT[group]) * (1 - ENTRY_BLOCKED * over))


def axis_firm_chance(group: Codes, told: Codes, age_years: Floats, room: Floats) -> Floats:
    """Chance that one side of C2 can hold a pedicle or lamina screw, given its recorded artery and the room."""
    need = screw_mm(age_years) + CLEARANCE_MM
    spare = pedicle_mean_mm(age_years, group) + PEDICLE_ROOM_MM * room - need
    high = artery_chances(group, told)[..., 1]
    usual, riding = ndtr(spare / PEDICLE_SIDE_SD_MM), ndtr((spare + HIGH_RIDING_MM) / PEDICLE_SIDE_SD_MM)
    thick = ndtr((lamina_mean_mm(age_years) + LAMINA_ROOM_MM * room - need) / LAMINA_SIDE_SD_MM)
    return np.asarray(1 - (1 - (1 - high) * usual - high * riding) * (1 - LAMINA_CLOSED * thick))
