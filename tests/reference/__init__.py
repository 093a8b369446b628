"""Values of other software and open data, kept beside this file with their sources (README.md)."""

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np

from riskmodel.cases.table import Floats

FOLDER = Path(__file__).parent
KYPHOSIS = FOLDER / "kyphosis"


def reference(name: str) -> Any:
    """The values of one reference file."""
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def kyphosis() -> tuple[Floats, Floats]:
    """(81, 3) age in months, number of vertebrae, topmost vertebra; (81,) kyphosis 0/1 (Chambers and Hastie 1992)."""
    with (KYPHOSIS / "kyphosis.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    columns = np.array([[float(row[name]) for name in ("Age", "Number", "Start")] for row in rows])
    return columns, np.array([row["Kyphosis"] == "present" for row in rows], dtype=np.float64)
