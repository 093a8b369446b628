"""Predictions for the tests: two sets that other software judged, one censored set, and invented ones."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from tests.reference import FOLDER, reference

IntArray = NDArray[np.int64]

# Kyphosis and birth weight, each fitted on one half and judged on the other by R 4.2.2: stats::glm, pROC 1.18.0,
# rms::val.prob 6.5.0, stats::loess.
EXTERNAL = ("kyphosis", "birthwt")
TAU = 1096  # days, German breast cancer study, judged by riskRegression::Score 2022.11.28


def external(name: str) -> tuple[Floats, Floats, dict[str, Any]]:
    """Return outcomes, predictions, and what R says about them."""
    values = reference("c1_external_validation")[name]
    return np.array(values["y"], dtype=np.float64), np.array(values["p"]), values


def censored() -> tuple[Floats, Floats, Floats, dict[str, Any]]:
    """Return outcomes at 1096 days, predictions, censoring weights, and what R says about them."""
    path = FOLDER / "data" / "surv_gbsg_input.csv"
    time, status = np.loadtxt(path, delimiter=",", skiprows=1, usecols=(0, 1), unpack=True)
    values = reference("d1_survival_horizon")["gbsg"]["h1096"]
    y_obs = ((time <= TAU) & (status == 1)).astype(np.float64)
    return y_obs, np.array(values["p"]), np.array(values["weights_all_prodlim"]), values


@dataclass(frozen=True)
class Invented:
    """Outcomes drawn from risks, predictions that miss them a little, weights with zeros, counts."""

    y_obs: Floats
    y_prob: Floats
    weights: Floats
    counts: IntArray


def invented(seed: int, n: int = 120) -> Invented:
    """Draw a sample; predictions are rounded, so that some are tied."""
    rng = np.random.default_rng(seed)
    log_odds = rng.normal(-1, 1, n)
    y_obs = (rng.random(n) < 1 / (1 + np.exp(-log_odds))).astype(np.float64)
    y_prob = np.round(1 / (1 + np.exp(-0.3 - 0.8 * log_odds)), 2).clip(0.01, 0.99)
    return Invented(y_obs, y_prob, rng.choice([0.0, 1.0, 1.1, 1.4], n), rng.integers(0, 4, n))
