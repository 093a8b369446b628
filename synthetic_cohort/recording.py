"""What the registry holds of what was known: words for the codes, and the gaps.

Missingness depends on what is in the table (year, centre, age), never on the missing value itself.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from synthetic_cohort import codes
from synthetic_cohort.world import Table

BASE_GAPS = {
    "indication": 0.03,
    "prior_cvj_surgery": 0.02,
    "nurick_grade": 0.08,
    "adi_mm": 0.06,
    "padi_mm": 0.08,
    "atlas_ring": 0.05,
    "reduces": 0.05,
    "weaker_end_anchors": 0.05,
    "graft_kind": 0.04,
    "planned_support": 0.06,
    "planned_decompression": 0.05,
}
STATUS_UNKNOWN = 0.02


def words(told: Table, seen: Table) -> dict[str, list[str]]:
    """Every core column as text, complete."""
    centre = [codes.CENTRES[i % 4] if i < 4 else f"C{i + 1:02d}" for i in told["centre"].tolist()]
    levels = {
        "sex": codes.SEX,
        "condition": codes.CONDITION,
        "indication": codes.INDICATION,
        "reduces": (*codes.REDUCES, "not_tested"),
        "atlas_ring": codes.ATLAS_RING,
        "artery_right": codes.ARTERY,
        "artery_left": codes.ARTERY,
        "upper_level": codes.LEVELS,
        "lower_level": codes.LEVELS,
        "construct_kind": codes.CONSTRUCT,
        "graft_kind": codes.GRAFT,
        "planned_decompression": codes.DECOMPRESSION,
        "planned_support": codes.SUPPORT,
    }
    table = {"case_id": [f"{c}-{i:03d}" for i, c in enumerate(centre, 1)], "centre_id": centre}
    table["operation_year"] = _text(told["operation_year"])
    for name in CORE:
        if name in levels:
            table[name] = [levels[name][code] for code in told[name].tolist()]
        elif name in told:
            table[name] = _text(told[name])
    for place in np.flatnonzero(told["adi_unmeasurable"]):
        table["adi_mm"][place] = "not_measurable"
    for place in np.flatnonzero(told["age_years"] < 2):
        table["nurick_grade"][place] = "not_applicable"
    return {**table, **_outcomes(seen)}


def _outcomes(seen: Table) -> dict[str, list[str]]:
    status = {name: [("no", "yes")[c] for c in seen[name].tolist()] for name in ("fixation_failure", "revision")}
    other = {"other_end": [codes.OTHER_END[code] for code in seen["other_end"].tolist()]}
    months = {name: _text(values) for name, values in seen.items() if name.endswith("_months")}
    return {name: {**status, **other, **months}[name] for name in OUTCOMES}


def _text(values: NDArray[Any]) -> list[str]:
    return ["" if value != value else str(value) for value in values.tolist()]


def leave_gaps(rng: np.random.Generator, table: dict[str, list[str]], told: Table, *, missing: float) -> None:
    """Empty cells in place; `missing` multiplies the usual shares (0: none)."""
    early = 1.0 + 0.08 * (2018 - told["operation_year"])
    habit = np.take([0.6, 1.0, 1.5, 1.0], told["centre"] % 4)
    for name, share in BASE_GAPS.items():
        for place in np.flatnonzero(rng.random(len(early)) < share * missing * early * habit):
            table[name][place] = ""
    for name in ("fixation_failure", "revision"):
        for place in np.flatnonzero(rng.random(len(early)) < STATUS_UNKNOWN * missing):
            table[name][place], table[f"{name}_months"][place] = "unknown", ""


OUTCOMES = (
    "fixation_failure",
    "fixation_failure_months",
    "revision",
    "revision_months",
    "other_end",
    "other_end_months",
    "last_scan_months",
    "last_contact_months",
)
CORE = (
    "age_years",
    "sex",
    "condition",
    "indication",
    "prior_cvj_surgery",
    "nurick_grade",
    "reduces",
    "adi_mm",
    "padi_mm",
    "atlas_ring",
    "artery_right",
    "artery_left",
    "upper_level",
    "lower_level",
    "construct_kind",
    "weaker_end_anchors",
    "graft_kind",
    "planned_decompression",
    "planned_support",
)
