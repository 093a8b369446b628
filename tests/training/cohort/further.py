"""Small further tables beside the children of `tests.training.cohort.children`, for tests to spoil."""

from pathlib import Path

from tests.training.cohort.children import Columns, write


def measures(*rows: tuple[str, str, str, str, str], variable: str = "adi_mm") -> Columns:
    """Rows of (case, months, value, modality, reader), all neutral, in mm, not under traction."""
    columns: Columns = {
        "case_id": [row[0] for row in rows],
        "measure_variable": [variable] * len(rows),
        "measure_value": [row[2] for row in rows],
        "measure_unit": ["mm"] * len(rows),
        "measure_months": [row[1] for row in rows],
        "measure_modality": [row[3] for row in rows],
        "measure_position": ["neutral"] * len(rows),
        "measure_traction": ["no"] * len(rows),
        "measure_reader": [row[4] for row in rows],
    }
    return columns


def screws(*rows: tuple[str, str, str, str, str]) -> Columns:
    """Rows of (case, site, side, level, diameter in mm)."""
    names = ("case_id", "screw_site", "screw_side", "screw_level", "screw_diam_mm")
    return {name: [row[place] for row in rows] for place, name in enumerate(names)}


def corridors(*rows: tuple[str, str, str, str, str, str]) -> Columns:
    """Rows of (case, site, side, level, width in mm, height in mm)."""
    names = ("case_id", "corridor_site", "corridor_side", "corridor_level", "corridor_mm", "corridor_height_mm")
    return {name: [row[place] for row in rows] for place, name in enumerate(names)}


def events(*rows: tuple[str, str, str]) -> Columns:
    """Rows of (case, kind, months), none of them planned."""
    names = ("case_id", "event_kind", "event_months")
    return {
        **{name: [row[place] for row in rows] for place, name in enumerate(names)},
        "event_planned": ["no"] * len(rows),
    }


def folder(path: Path, **tables: Columns) -> Path:
    """A folder of CSV files, one per table."""
    path.mkdir(exist_ok=True)
    for name, columns in tables.items():
        write(columns, path / f"{name}.csv")
    return path
