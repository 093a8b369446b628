"""The table `anatomy`: craniometry, skull, anomalies, vessels and cord, one row per child."""

from typing import Final

import numpy as np

from synthetic_cohort import casemix
from synthetic_cohort.cohort import People
from synthetic_cohort.recording import Table, named
from synthetic_cohort.records import NOT_IMAGED, NOT_TESTED, Flags, Floats
from synthetic_cohort.tables import cells
from synthetic_cohort.tables.cells import NOT_APPLICABLE, NOT_MEASURABLE, one_of, read, sides_word, some, where, yes_no

_ANTERIOR_OPEN: Final = (2, 3)  # places in codes.ATLAS_RING
_POSTERIOR: Final = ("closed", "open", "closed", "open", "absent", "partly_absent")
_OS_SHARE: Final = {"down": 0.8, "non_syndromic": 0.5, "sedc": 0.3, "mps_iva": 0.1, "other_syndrome": 0.2}


def midline(rng: np.random.Generator, people: People) -> Table:
    """The table, with the key left out."""
    parts = (_distances, _angles, _skull, _anomalies, _vessels)
    return {name: column for part in parts for name, column in part(rng, people).items()}


def _distances(rng: np.random.Generator, people: People) -> Table:
    child, true, n = people.child, people.anatomy, len(people.child.year)
    moves, invaginated = np.abs(rng.normal(2.0, 1.0, n)), child.indication == 2
    no_dens = np.isnan(child.adi_mm)
    dens_up = np.where(invaginated, 8.0, -2.5) + rng.normal(0, 3.0, n)
    ratio = np.maximum(0.63 + 0.06 * (true.canal_mm - 11.1), 0.2)
    back = true.adi_mm - moves * (true.reduces == 0)
    powers = read(rng, 0.78 + rng.normal(0, 0.08, n), 0.02, digits=2)
    return {
        "adi_flex_mm": where(read(rng, true.adi_mm + moves, 0.6, low=-3), no_dens, NOT_MEASURABLE),
        "adi_ext_mm": where(read(rng, back, 0.6, low=-3), no_dens, NOT_MEASURABLE),
        "padi_method": named(("bone_ct", "csf_mri"), some(rng, 0.2, n).astype(np.int64)),
        "sac_c1_c4_ratio": read(rng, ratio, 0.04, low=0.1, digits=2),
        "powers_ratio": where(powers, child.ring > 0, NOT_MEASURABLE),
        "bdi_mm": where(read(rng, 7.3 + rng.normal(0, 1.8, n) - 6 * invaginated, 0.5), no_dens, NOT_MEASURABLE),
        "chamberlain_mm": where(read(rng, dens_up, 0.6), no_dens, NOT_MEASURABLE),
        "mcrae_mm": where(read(rng, dens_up - 4.5, 0.6), no_dens, NOT_MEASURABLE),
    }


def _angles(rng: np.random.Generator, people: People) -> Table:
    child, true, n = people.child, people.anatomy, len(people.child.year)
    clivus = np.where(child.indication == 2, 122.0, 141.0) - 7 * true.causes[:, 5]
    tipped = 17.2 - 2.7 * (true.adi_mm - 2.25) + rng.normal(0, 8, n)
    return {
        "c1_inclination_deg": read(rng, tipped, 2.0, digits=0),
        "clivo_axial_angle_deg": read(rng, clivus, 2.0, digits=0),
        "clivo_axial_angle_reduced_deg": _reduced(rng, people, clivus),
        "craniometry_position": one_of(rng, ("neutral", "not_stated"), (0.9, 0.1), n),
        "craniometry_modality": one_of(rng, ("ct", "film"), (0.9, 0.1), n),
        "ct_slice_mm": one_of(rng, ("0.6", "1.0", "1.5", ""), (0.6, 0.25, 0.1, 0.05), n),
        "o_c2_angle_deg": read(rng, 14.5 + rng.normal(0, 6, n), 1.5, digits=0),
        "c2_c7_angle_deg": read(rng, _subaxial(rng, people), 2.0, digits=0),
        "basal_angle_deg": read(rng, np.where(child.group == 5, 133, 126) + rng.normal(0, 7, n), 2.0, digits=0),
    }


def _reduced(rng: np.random.Generator, people: People, clivus: Floats) -> list[str]:
    gain = np.abs(rng.normal(9, 4, len(clivus))) * (people.anatomy.reduces < 2)
    column = read(rng, np.minimum(clivus + gain, 165), 2.0, digits=0)
    return where(column, people.child.reduces == NOT_TESTED, cells.NOT_TESTED)


def _subaxial(rng: np.random.Generator, people: People) -> Floats:
    curved = people.child.condition == casemix.CONDITION.index("larsen")
    return np.where(curved, -55.0, 12.0) + rng.normal(0, 14, len(curved))


def _skull(rng: np.random.Generator, people: People) -> Table:
    age, room, n = people.body.age_years, people.anatomy.bone.room, len(people.body.year)
    keel = 7.45 + 0.525 * np.minimum(age, 6) + 0.15 * np.maximum(age - 6, 0) + 0.7 * room + rng.normal(0, 1.5, n)
    lamina = 8.2 + 0.19 * age + 0.9 * room + rng.normal(0, 1.9, n)
    removed = (people.child.prior_surgery > 0) & some(rng, 0.5, n)
    return {
        "c2_lamina_cortex": one_of(rng, ("outer", "inner", "not_stated"), (0.7, 0.2, 0.1), n),
        "c2_lamina_height_mm": read(rng, lamina, 0.2, low=3.0),
        "occipital_keel_mm": read(rng, keel, 0.2, low=3.0),
        "occipital_bone_left_mm": where(read(rng, 20 + rng.normal(0, 6, n), 0.5, low=2.0), ~removed, NOT_APPLICABLE),
        "occipital_paramedian_mm": read(rng, 0.35 * keel + rng.normal(0, 0.7, n), 0.2, low=0.5),
    }


def _anomalies(rng: np.random.Generator, people: People) -> Table:
    child, bone, n = people.child, people.anatomy.bone, len(people.child.year)
    joined = some(rng, np.where(child.group == 5, 0.35, 0.02), n)
    side = one_of(rng, ("right", "left", "both"), (0.25, 0.25, 0.5), n)
    tiny = people.anatomy.dens_tiny
    return {
        "atlas_anterior_arch": named(("closed", "open"), np.isin(child.ring, _ANTERIOR_OPEN).astype(np.int64)),
        "atlas_posterior_arch": named(_POSTERIOR, child.ring),
        "atlas_assimilation": named(("none", "partial", "complete"), joined * (1 + some(rng, 0.5, n))),
        "atlas_assimilation_side": where(side, ~joined, NOT_APPLICABLE),
        "os_odontoideum": _os(rng, people, tiny),
        "odontoid_hypoplasia": named(("none", "small", "absent"), tiny * (1 + some(rng, 0.3, n))),
        "condylar_hypoplasia": sides_word(some(rng, 0.05, n), some(rng, 0.05, n)),
        "c1_lateral_mass_absent": sides_word(~bone.mass_present[:, 0], ~bone.mass_present[:, 1]),
        "c2_c3_fusion": yes_no(some(rng, np.where(child.group == 5, 0.45, 0.02), n)),
        "kf_pattern": _fused(rng, people),
        "spina_bifida_c2": yes_no(np.asarray(~bone.lamina_closed.all(axis=1))),
    }


def _os(rng: np.random.Generator, people: People, tiny: Flags) -> list[str]:
    share = np.array([_OS_SHARE.get(name, 0.05) for name in casemix.CONDITION])[people.child.condition]
    has = some(rng, share, len(tiny)) & ~tiny
    return named(("none", "orthotopic", "dystopic"), has * (1 + some(rng, 0.35, len(tiny))))


def _fused(rng: np.random.Generator, people: People) -> list[str]:
    fused = some(rng, np.where(people.child.group == 5, 0.4, 0.03), len(people.child.year))
    return named(("none", "single_subaxial", "multiple"), fused * (1 + some(rng, 0.4, len(fused))))


def _vessels(rng: np.random.Generator, people: People) -> Table:
    child, n = people.child, len(people.child.year)
    blind = child.artery_right == NOT_IMAGED
    medial = some(rng, np.where(child.condition == casemix.CONDITION.index("del_22q11"), 0.26, 0.03), n)
    dominant = one_of(rng, ("co_dominant", "right", "left"), (0.45, 0.2, 0.35), n)
    signal = np.where(child.nurick >= 3, 0.6, 0.25)
    return {
        "artery_imaging": where(one_of(rng, ("cta", "mra"), (0.8, 0.2), n), blind, "none"),
        "artery_dominance": where(dominant, blind, "not_imaged"),
        "carotid_medial": where(sides_word(medial, medial & some(rng, 0.5, n)), blind, "not_imaged"),
        "occipital_sinus": one_of(rng, ("none", "present", "not_imaged"), (0.32, 0.08, 0.60), n),
        "cord_signal": named(
            ("none", "t2_bright", "t2_bright_t1_dark"), some(rng, signal, n) * (1 + some(rng, 0.2, n))
        ),
    }
