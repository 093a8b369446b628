"""Joints and bone by side, one row per child; right before left.

Means and spreads of unaffected children are set to published ones (tests name them); what the plan used (pedicle,
lamina, mass, artery) is read off the same bone, so that plan and measurement agree but for the reader.
"""

from typing import Final

import numpy as np

from synthetic_cohort import norms
from synthetic_cohort.anatomy import HIGH_RIDING, OVER_ENTRY
from synthetic_cohort.cohort import People
from synthetic_cohort.recording import Table, named
from synthetic_cohort.records import NOT_IMAGED, Floats
from synthetic_cohort.tables.cells import NOT_APPLICABLE, NOT_TESTED, one_of, read, some, where

SIDES: Final = ("right", "left")
READER_MM: Final = 0.15
_COURSES: Final = ("usual", "medial_loop", "first_intersegmental", "fenestrated", "pica_from_c1_c2", "absent")


def sides(rng: np.random.Generator, people: People) -> Table:
    """The table, with the key left out."""
    table: Table = {}
    for name, true in {**_joints(rng, people), **_atlas(rng, people), **_axis(rng, people)}.items():
        reader, low = (2.0, -90.0) if name.endswith("_deg") else (READER_MM, -15.0 if "gap" in name else 0.3)
        for place, side in enumerate(SIDES):
            column = read(rng, true[:, place], reader, low=low, digits=0 if name.endswith("_deg") else 1)
            table[name.replace("{side}", side)] = column
    _say_what_is_not_there(rng, people, table)
    for place, side in enumerate(SIDES):
        table[f"artery_course_{side}"] = _course(rng, people, place)
        table[f"hypoglossal_canal_{side}"] = one_of(
            rng, ("clear", "in_path", "not_imaged"), (0.85, 0.1, 0.05), len(people.body.year)
        )
    return table


def _joints(rng: np.random.Generator, people: People) -> dict[str, Floats]:
    """Gaps at rest, under traction and once free; tilt of the facets; condyle to C1."""
    body, causes = people.body, people.anatomy.causes
    shape = (len(body.year), 2)
    lax = norms.GAP_MEAN_MM + causes @ norms.gap_loadings_mm()
    traction = lax[:, None] + rng.normal(0, 0.6, shape)
    apart = np.where(people.child.indication == 2, 3.0, 1.05)[:, None]  # telescoped joints open under traction
    tilt = 24 + 8 * causes[:, 4] + 10 * (people.child.indication == 2)
    young = np.exp(-((body.age_years - 3) ** 2) / 8)
    return {
        "c1c2_gap_rest_{side}_mm": traction - np.abs(rng.normal(apart, 0.3, shape)),
        "c1c2_gap_traction_{side}_mm": traction,
        "c1c2_gap_released_{side}_mm": traction + np.abs(rng.normal(0.8, 0.4, shape)),
        "c1c2_facet_sag_angle_{side}_deg": tilt[:, None] + rng.normal(0, 5, shape),
        "c1c2_facet_cor_angle_{side}_deg": 25 + rng.normal(0, 6, shape),
        "cci_{side}_mm": 1.5 + 0.5 * young[:, None] + np.abs(rng.normal(0, 0.4, shape)),
    }


def _atlas(rng: np.random.Generator, people: People) -> dict[str, Floats]:
    """Condyle, lateral mass and arch."""
    age, room = people.body.age_years[:, None], people.anatomy.bone.room[:, None]

    def spread(sd: float) -> Floats:
        return np.asarray(rng.normal(0, sd, people.anatomy.artery.shape))

    width = 7.3 + 0.325 * (np.minimum(age, 6) - 2) + 0.08 * np.maximum(age - 6, 0)
    return {
        "c1_lm_height_{side}_mm": 2.1 + 0.06 * age + 0.35 * room + spread(0.5),
        "c1_lm_width_{side}_mm": width + 0.5 * room + spread(0.5),
        "c1_lm_length_{side}_mm": 15 + 0.5 * np.minimum(age, 14) + 0.6 * room + spread(1.2),
        "c1_arch_height_{side}_mm": 3.2 + 0.08 * age + 0.4 * room + spread(0.6),
        "condyle_width_{side}_mm": 8.6 + 0.12 * age + 0.5 * room + spread(1.0),
        "condyle_height_{side}_mm": 7.0 + 0.09 * age + 0.3 * room + spread(0.7),
    }


def _axis(rng: np.random.Generator, people: People) -> dict[str, Floats]:
    """Pedicle, pars, lamina, and the path across the joint; a high-riding artery narrows them."""
    age, bone = people.body.age_years[:, None], people.anatomy.bone
    room, riding = bone.room[:, None], people.anatomy.artery == HIGH_RIDING

    def spread(sd: float) -> Floats:
        return np.asarray(rng.normal(0, sd, riding.shape))

    return {
        "c2_pedicle_width_{side}_mm": bone.pedicle_mm,
        "c2_pedicle_height_{side}_mm": 5.2 + 0.12 * age + 0.5 * room - 0.8 * riding + spread(0.6),
        "c2_pars_width_{side}_mm": bone.pedicle_mm + 0.4 + spread(0.4),
        "c2_pars_length_{side}_mm": 11.5 + 0.2 * age - 3.0 * riding + spread(1.3),
        "c2_isthmus_height_{side}_mm": np.where(riding, 4.3 + spread(0.4), 6.0 + 0.08 * age + spread(0.6)),
        "c2_internal_height_{side}_mm": np.where(riding, 1.6 + spread(0.25), 3.4 + 0.04 * age + spread(0.5)),
        "c2_lamina_thickness_{side}_mm": bone.lamina_mm,
        "c1c2_path_{side}_mm": 2.75 + 0.12 * (age - 4) + 0.2 * room - 0.6 * riding + spread(0.35),
    }


def _say_what_is_not_there(rng: np.random.Generator, people: People, table: Table) -> None:
    """No bone, no value; a gap under traction only where traction was tried, one in theatre only where it was freed."""
    n, absent = len(people.body.year), ~people.anatomy.bone.mass_present
    untested, unfreed = ~some(rng, 0.5, n), ~some(rng, 0.35, n)
    no_arch = np.isin(people.child.ring, (4, 5))
    for place, side in enumerate(SIDES):
        where(table[f"c1c2_gap_traction_{side}_mm"], untested, NOT_TESTED)
        where(table[f"c1c2_gap_released_{side}_mm"], unfreed, "")
        for name in (
            "c1_lm_height",
            "c1_lm_width",
            "c1_lm_length",
            "c1c2_gap_rest",
            "c1c2_gap_traction",
            "c1c2_gap_released",
        ):
            where(table[f"{name}_{side}_mm"], absent[:, place], NOT_APPLICABLE)
        where(table[f"c1_arch_height_{side}_mm"], no_arch, NOT_APPLICABLE)


def _course(rng: np.random.Generator, people: People, place: int) -> list[str]:
    """What runs where: over the entry it is an intersegmental, fenestrated or cerebellar artery."""
    artery, told = people.anatomy.artery[:, place], (people.child.artery_right, people.child.artery_left)[place]
    n = len(artery)
    over = rng.choice([2, 3, 4], size=n, p=[0.5, 0.2, 0.3])
    course = np.select([artery == OVER_ENTRY, artery == 3, artery == HIGH_RIDING], [over, 5, some(rng, 0.3, n)], 0)
    return where(named(_COURSES, course.astype(np.int64)), told == NOT_IMAGED, "not_imaged")
