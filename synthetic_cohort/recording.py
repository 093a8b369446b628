"""What the registry holds: the dictionary's words for what was known, and the gaps.

Gaps depend on what stands in the table (year, unit, age, condition), never on the value that is missing.
"""

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from synthetic_cohort import casemix, codes
from synthetic_cohort.records import Child, Codes, Flags, Floats, Plan
from synthetic_cohort.visits import FollowUp

Table = dict[str, list[str]]

GAPS: Final = {
    "indication": 0.02,
    "prior_cvj_surgery": 0.02,
    "nurick_grade": 0.07,
    "reduces": 0.05,
    "adi_mm": 0.06,
    "padi_mm": 0.08,
    "atlas_ring": 0.05,
    "weaker_end_anchors": 0.06,
    "graft_kind": 0.04,
    "planned_decompression": 0.04,
    "planned_support": 0.06,
}
STATUS_UNKNOWN: Final = 0.02
_UNIT_HABIT: Final = np.array([0.6, 1.0, 1.6, 0.9])


def words(child: Child, plan: Plan, seen: FollowUp) -> Table:
    """The core columns as text, without gaps, in the order of the dictionary's core."""
    return {**_found(child), **_planned(plan), **_outcomes(seen)}


def _found(child: Child) -> Table:
    centre = [codes.centre_code(place) for place in child.centre.tolist()]
    return {
        "case_id": [f"{code}-{number:03d}" for number, code in enumerate(centre, 1)],
        "centre_id": centre,
        "operation_year": text(child.year),
        "age_years": text(child.age_years),
        "sex": named(codes.SEX, child.sex),
        "condition": named(casemix.CONDITION, child.condition),
        "indication": named(codes.INDICATION, child.indication),
        "prior_cvj_surgery": text(child.prior_surgery),
        "nurick_grade": text(child.nurick, child.nurick < 0, "not_applicable"),
        "reduces": named(codes.REDUCES, child.reduces),
        "adi_mm": text(child.adi_mm, np.isnan(child.adi_mm), "not_measurable"),
        "padi_mm": text(child.padi_mm, np.isnan(child.padi_mm), "not_measurable"),
        "atlas_ring": named(codes.ATLAS_RING, child.ring),
        "artery_right": named(codes.ARTERY, child.artery_right),
        "artery_left": named(codes.ARTERY, child.artery_left),
    }


def _planned(plan: Plan) -> Table:
    return {
        "upper_level": named(codes.LEVELS, np.where(plan.occiput, 0, 1)),
        "lower_level": named(codes.LEVELS, 2 + plan.extra_levels),
        "construct_kind": named(codes.CONSTRUCT, plan.construct),
        "weaker_end_anchors": text(plan.anchors),
        "graft_kind": named(codes.GRAFT, plan.graft),
        "planned_decompression": flags(codes.DECOMPRESSION, plan.decompression),
        "planned_support": named(codes.SUPPORT, plan.support),
    }


def _outcomes(seen: FollowUp) -> Table:
    ends = np.stack([np.full(len(seen.death), np.inf), seen.death, seen.removal, seen.left_area], axis=1)
    kind = np.where(np.isfinite(ends).any(axis=1), ends.argmin(axis=1), 0)
    return {
        "fixation_failure": named(("no", "yes"), np.isfinite(seen.failure) * 1),
        "fixation_failure_months": months(seen.failure),
        "revision": named(("no", "yes"), np.isfinite(seen.revision) * 1),
        "revision_months": months(seen.revision),
        "other_end": named(codes.OTHER_END, kind),
        "other_end_months": months(ends.min(axis=1)),
        "last_scan_months": months(seen.last_scan),
        "last_contact_months": months(seen.last_contact),
    }


def leave_gaps(rng: np.random.Generator, table: Table, child: Child, *, missing: float) -> None:
    """Empty cells in place; `missing` multiplies the usual shares (0: none)."""
    early = np.exp(0.06 * (2016 - child.year)) * _UNIT_HABIT[child.centre % len(_UNIT_HABIT)]
    small = np.where(child.age_years < 5, 1.5, 1.0)
    for name, share in GAPS.items():
        factor = early * small if name in ("adi_mm", "padi_mm", "nurick_grade") else early
        for place in np.flatnonzero(rng.random(len(early)) < share * missing * factor).tolist():
            table[name][place] = ""
    for name in ("fixation_failure", "revision"):
        for place in np.flatnonzero(rng.random(len(early)) < STATUS_UNKNOWN * missing).tolist():
            table[name][place], table[f"{name}_months"][place] = "unknown", ""


def named(words_: tuple[str, ...], places: Codes) -> list[str]:
    """Words by place."""
    return list(np.array(words_, dtype=object)[places])


def text(values: NDArray[Any], instead: Flags | None = None, word: str = "") -> list[str]:
    """Numbers as text, shortest form; `word` where `instead`."""
    shown = [str(value) for value in values.tolist()]
    for place in np.flatnonzero(instead).tolist() if instead is not None else ():
        shown[place] = word
    return shown


def flags(words_: tuple[str, ...], masks: Codes) -> list[str]:
    """Bit masks as words joined by +, `none` for none."""
    spelt = ["+".join(word for bit, word in enumerate(words_) if mask >> bit & 1) for mask in range(1 << len(words_))]
    return named(tuple(spelling or "none" for spelling in spelt), masks)


def months(at: Floats) -> list[str]:
    """Months with one decimal, at least 0.1; empty where infinite."""
    shown = np.round(np.maximum(at, 0.1), 1)
    return ["" if value == np.inf else str(value) for value in shown.tolist()]
