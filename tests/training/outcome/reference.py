"""Values of other software, from tests/reference/."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from riskmodel.cases.table import Floats

FOLDER = Path(__file__).parents[2] / "reference"


def d1() -> dict[str, Any]:
    """Fixed-horizon performance under right censoring: riskRegression 2022.11.28, prodlim, survival under R 4.2.2."""
    text = (FOLDER / "d1_survival_horizon.json").read_text(encoding="utf-8")
    held: dict[str, Any] = json.loads(text)
    return held


def gbsg() -> dict[str, Floats]:
    """Columns of the breast cancer trial of Schumacher et al. 1994 (686 women, R package survival)."""
    path = FOLDER / "data" / "surv_gbsg_input.csv"
    names = path.read_text(encoding="utf-8").splitlines()[0].split(",")
    values = np.loadtxt(path, delimiter=",", skiprows=1)
    return dict(zip(names, values.T, strict=True))
