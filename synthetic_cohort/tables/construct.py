"""The tables `construct` and `theatre`: what was planned beside the core, and what the operation was like."""

import numpy as np

from synthetic_cohort import norms
from synthetic_cohort.anatomy import Bone
from synthetic_cohort.cohort import People
from synthetic_cohort.recording import Table, named, text
from synthetic_cohort.records import Flags, Floats
from synthetic_cohort.tables.cells import NOT_APPLICABLE, flag_words, one_of, some, where, yes_no

LARGEST_SPACER_MM = 7.0
_OWN, _STRUCTURAL, _DONOR = 0, 1, 2  # places in codes.GRAFT


def construct(rng: np.random.Generator, people: People, sides: Table) -> Table:
    """The plan beside the core columns, with the key left out; gaps are those of the table `sides`."""
    return {**_levels(rng, people), **_spacers(rng, people, sides), **_healing(rng, people)}


def margin_mm(bone: Bone, age_years: Floats) -> Floats:
    """(n, 2) bone beside the better C2 screw of each side; negative where none fits."""
    best = np.maximum(bone.pedicle_mm, np.where(bone.lamina_closed, bone.lamina_mm, -np.inf))
    return np.asarray(best - norms.screw_mm(age_years)[:, None])


def _levels(rng: np.random.Generator, people: People) -> Table:
    plan, anchorage, n = people.plan, people.anchorage, len(people.child.year)
    bare = plan.construct >= 2
    plate = np.where(plan.occiput & ~bare, anchorage.plate, 0)
    points = plate + anchorage.atlas * (~plan.occiput | anchorage.joined) + anchorage.axis + 2 * plan.extra_levels
    least = np.round(margin_mm(people.anatomy.bone, people.child.age_years).min(axis=1), 1)
    halves = (people.child.ring == 3) & ~plan.occiput
    return {
        "includes_occiput": yes_no(plan.occiput),
        "n_segments": text(plan.segments),
        "n_fixation_points": text(np.where(bare, 2, points)),
        "min_margin_mm": where(text(least), bare, NOT_APPLICABLE),
        "occipital_anchor": named(("none", "midline_plate", "loop_and_wire"), plan.occiput * (1 + bare)),
        "n_occipital_screws": text(plate),
        "rods": text(np.where(plan.construct == 3, 0, 2)),
        "rod_diameter_mm": where(one_of(rng, ("3.5", "3.2", "4.0"), (0.8, 0.15, 0.05), n), bare, NOT_APPLICABLE),
        "cross_connector": yes_no(some(rng, np.where(halves, 0.6, 0.1), n) & ~bare),
        "navigation": one_of(rng, ("fluoroscopy", "ct_navigation", "freehand"), (0.5, 0.35, 0.15), n),
    }


def _spacers(rng: np.random.Generator, people: People, sides: Table) -> Table:
    """A spacer as high as the gap under traction allows, where one is used at all."""
    n = len(people.child.year)
    used = some(rng, 0.2, n) & (people.plan.construct < 2)
    gaps = [_numbers(sides[f"c1c2_gap_traction_{side}_mm"]) for side in ("right", "left")]
    table: Table = {"largest_spacer_mm": where(text(np.full(n, LARGEST_SPACER_MM)), ~used, NOT_APPLICABLE)}
    for side, gap in zip(("right", "left"), gaps, strict=True):
        height = np.clip(np.floor(np.where(np.isnan(gap), 5.0, gap)), 4, LARGEST_SPACER_MM)
        table[f"spacer_kind_{side}"] = named(("none", "metal"), used.astype(np.int64))
        table[f"spacer_height_{side}_mm"] = where(text(height), ~used, NOT_APPLICABLE)
    excess = np.fmax(*gaps) - LARGEST_SPACER_MM
    table["gap_excess_mm"] = where(text(np.round(excess, 1)), np.isnan(excess), "not_tested")
    return table


def _numbers(cells: list[str]) -> Floats:
    return np.array([float(cell) if cell and cell[-1].isdigit() else np.nan for cell in cells])


def _healing(rng: np.random.Generator, people: People) -> Table:
    graft, n = people.plan.graft, len(people.child.year)
    rib = some(rng, 0.4, n)
    held: list[Flags] = [
        (graft == _STRUCTURAL) & ~rib,
        (graft == _STRUCTURAL) & rib,
        graft == _OWN,
        graft == _DONOR,
    ]
    weeks = np.array([0, 8, 12, 14])[people.plan.support] + rng.integers(-2, 3, n)
    return {
        "joint_prepared": one_of(rng, ("both", "one_side", "none"), (0.45, 0.1, 0.45), n),
        "graft_sources": flag_words(("iliac", "rib", "local", "donor_chips"), held),
        "graft_bed": yes_no(~np.isin(people.child.ring, (4,)) | some(rng, 0.4, n)),
        "bmp_used": yes_no(some(rng, 0.06, n)),
        "planned_support_weeks": text(np.where(people.plan.support == 0, 0, np.maximum(weeks, 4))),
        "planned_implant_removal": one_of(rng, ("no", "yes", "undecided"), (0.85, 0.05, 0.1), n),
    }


def theatre(rng: np.random.Generator, people: People) -> Table:
    """What the operation was like, with the key left out; nothing of it is known when the plan is made."""
    plan, n = people.plan, len(people.child.year)
    minutes = 150 + 45 * plan.occiput + 18 * plan.extra_levels + 40 * people.hidden.lost_anchor + rng.normal(0, 35, n)
    injured = some(rng, 0.016 + 0.04 * (people.anatomy.artery == 1).any(axis=1), n)
    blood = np.exp(4.7 + 0.002 * minutes + rng.normal(0, 0.5, n)) + 200 * injured
    right = one_of(rng, ("right", "left"), (0.5, 0.5), n)
    return {
        "needed_release": yes_no(some(rng, np.where(people.anatomy.reduces == 2, 0.6, 0.06), n)),
        "ionm_modalities": one_of(rng, ("ssep+mep", "mep", "none"), (0.8, 0.1, 0.1), n),
        "ionm_alert": one_of(rng, ("none", "transient", "persistent"), (0.9, 0.08, 0.02), n),
        "op_minutes": text(np.round(np.maximum(minutes, 60)).astype(np.int64)),
        "blood_loss_ml": text(np.round(blood).astype(np.int64)),
        "artery_injury": named(("none", "bleed_controlled"), injured.astype(np.int64)),
        "artery_injury_side": where(right, ~injured, NOT_APPLICABLE),
    }
