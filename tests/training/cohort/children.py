"""A small cohort of invented children in the words of the shipped dictionary, for tests to spoil."""

import csv
from pathlib import Path

Columns = dict[str, list[str]]

SHORT = "fixation_failure_24m"


def children(count: int = 60) -> Columns:
    """Columns for a shipped short protocol: a quarter fail at 10 months, one in ten is lost at 12, the rest is seen
    at 30 months; nothing is missing."""
    places = range(count)
    failed = [place % 4 == 0 for place in places]
    lost = [place % 10 == 1 for place in places]
    return {
        "case_id": [f"X-{place:03d}" for place in places],
        "centre_id": ["TW" if place % 2 else "CM" for place in places],
        "operation_year": [str(2010 + place % 9) for place in places],
        "age_years": [f"{3 + place % 11}.5" for place in places],
        "sex": ["female" if place % 3 else "male" for place in places],
        "condition": [("down", "sedc", "mps_iva", "klippel_feil", "non_syndromic")[place % 5] for place in places],
        "prior_cvj_surgery": [str(place % 2) for place in places],
        "reduces": [("awake", "under_traction", "not_tested")[place % 3] for place in places],
        "atlas_ring": [("intact", "posterior_open")[place % 2] for place in places],
        "upper_level": [("O", "C1")[place % 2] for place in places],
        "lower_level": [("C2", "C3")[place // 2 % 2] for place in places],
        "construct_kind": [("rigid", "transarticular_cable")[place // 3 % 2] for place in places],
        "weaker_end_anchors": [str(place % 4) for place in places],
        "graft_kind": [("structural_own", "donor")[place // 2 % 2] for place in places],
        "fixation_failure": ["yes" if each else "no" for each in failed],
        "fixation_failure_months": ["10" if each else "" for each in failed],
        "other_end": ["none"] * count,
        "other_end_months": [""] * count,
        "last_scan_months": ["12" if each else "30" for each in lost],
        "last_contact_months": ["12" if each else "30" for each in lost],
    }


def write(columns: Columns, path: Path) -> Path:
    """The columns as a CSV file."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows(zip(*columns.values(), strict=True))
    return path


def without(columns: Columns, *names: str) -> Columns:
    """The columns without some of them."""
    return {name: values for name, values in columns.items() if name not in names}


def with_cell(columns: Columns, name: str, place: int, text: str) -> Columns:
    """The columns with one cell changed; `place` 0 is row 2 of the sheet."""
    values = list(columns[name])
    values[place] = text
    return {**columns, name: values}
