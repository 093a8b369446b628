"""What the scans truly show: ring, arteries, distances, and the bone there is for a screw."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from synthetic_cohort import casemix, norms
from synthetic_cohort.children import WALKS_AT_YEARS, Body, reduction_chances
from synthetic_cohort.codes import ARTERY
from synthetic_cohort.records import Codes, Flags, Floats, pick

HIGH_RIDING: Final = ARTERY.index("high_riding")
OVER_ENTRY: Final = ARTERY.index("over_c1_entry")


@dataclass(frozen=True, slots=True)
class Bone:
    """Room for screws; (n, 2) is right and left."""

    room: Floats  # (n,)
    mass_present: Flags  # (n, 2)
    atlas_firm: Flags  # (n, 2) a C1 screw can be placed
    pedicle_mm: Floats  # (n, 2)
    lamina_mm: Floats  # (n, 2)
    lamina_closed: Flags  # (n, 2)
    axis_firm: Flags  # (n, 2) a C2 pedicle or lamina screw fits


@dataclass(frozen=True, slots=True)
class Anatomy:
    """(n,) each unless said otherwise: the truth, without a reader."""

    causes: Floats  # (n, len(norms.CAUSES))
    ring: Codes
    artery: Codes  # (n, 2)
    reduces: Codes
    adi_mm: Floats
    canal_mm: Floats
    nurick: Codes  # -1: not applicable
    dens_tiny: Flags
    bone: Bone


def draw(rng: np.random.Generator, body: Body) -> Anatomy:
    """Draw what the scans of each child truly show."""
    n = len(body.age_years)
    causes = rng.standard_normal((n, len(norms.CAUSES)))
    causes[:, 0] = body.laxity
    adi = norms.adi_mean_mm(body.condition) + (causes * norms.adi_loadings_mm(body.condition)).sum(axis=1)
    canal = norms.canal_mean_mm(body.condition, body.age_years)
    canal = canal + (causes * norms.canal_loadings_mm(body.condition)).sum(axis=1)
    sign = norms.NURICK_PER_MM * (13.0 - canal) + rng.standard_normal(n)
    artery = np.stack([pick(rng, norms.ARTERY[body.group]) for _ in range(2)], axis=1)
    return Anatomy(
        causes=causes,
        ring=_ring(rng, body),
        artery=artery,
        reduces=pick(rng, reduction_chances(body.condition, body.indication)),
        adi_mm=adi,
        canal_mm=canal,
        nurick=np.where(body.age_years < WALKS_AT_YEARS, -1, np.searchsorted(norms.NURICK_CUTS, sign)),
        dens_tiny=rng.random(n) < casemix.DENS_TINY[body.condition],
        bone=bones(rng, age_years=body.age_years, group=body.group, artery=artery),
    )


def _ring(rng: np.random.Generator, body: Body) -> Codes:
    """Open beyond the usual age in some conditions, and late in dysplasia and storage disease."""
    slow = np.isin(body.group, (2, 3))
    late = np.where(body.age_years < np.where(slow, 8.0, 6.0), 0.12, 0.0)
    opened = rng.random(len(body.age_years)) < casemix.RING_OPEN[body.condition] + late
    return np.where(opened, pick(rng, np.tile(norms.OPEN_KINDS, (len(opened), 1))), 0)


def bones(rng: np.random.Generator, *, age_years: Floats, group: Codes, artery: Codes) -> Bone:
    """Draw the room for screws of children with these arteries (n, 2)."""
    sides, room = artery.shape, rng.standard_normal(len(age_years))
    need = (norms.screw_mm(age_years) + norms.CLEARANCE_MM)[:, None]
    present = rng.random(sides) >= norms.MASS_ABSENT[group][:, None]
    blocked = (artery == OVER_ENTRY) & (rng.random(sides) < norms.ENTRY_BLOCKED)
    pedicle = (norms.pedicle_mean_mm(age_years, group) + norms.PEDICLE_ROOM_MM * room)[:, None]
    pedicle = pedicle + norms.HIGH_RIDING_MM * (artery == HIGH_RIDING)
    pedicle = pedicle + norms.PEDICLE_SIDE_SD_MM * rng.standard_normal(sides)
    lamina = (norms.lamina_mean_mm(age_years) + norms.LAMINA_ROOM_MM * room)[:, None]
    lamina = lamina + norms.LAMINA_SIDE_SD_MM * rng.standard_normal(sides)
    closed = rng.random(sides) < norms.LAMINA_CLOSED
    firm = (pedicle >= need) | ((lamina >= need) & closed)
    return Bone(room, present, present & ~blocked, pedicle, lamina, closed, firm)
