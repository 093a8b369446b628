"""Reads the values that other software computed, from tests/reference."""

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

FOLDER = Path(__file__).resolve().parents[1] / "reference"


def load(name: str) -> dict[str, Any]:
    """Return one reference file; its own fields `versions` and `call` say what computed it."""
    content: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return content


def load_columns(name: str) -> dict[str, NDArray[np.float64]]:
    """Return a table of numbers under tests/reference/data, by column."""
    with (FOLDER / "data" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {column: np.array([float(row[column]) for row in rows]) for column in rows[0]}
