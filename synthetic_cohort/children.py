"""Children as they come: centre, year, condition, age, cord, and what the scans show."""

import numpy as np

from synthetic_cohort import codes
from synthetic_cohort.world import Codes, Floats, Table

SHARES = np.array([share for _, _, share in codes.CONDITIONS])
MEAN_AGE = np.array([9.5, 11, 8, 9, 7, 8, 8, 5, 9, 10, 8, 8, 10.5])
RING_OPEN = np.array([0.12, 0.05, 0.1, 0.1, 0.3, 0.08, 0.2, 0.25, 0.08, 0.3, 0.55, 0.3, 0.12])


def pick(rng: np.random.Generator, weights: Floats) -> Codes:
    """(n,) one column index per row of `weights` (n, k), with chance proportional to its weight."""
    cumulative = np.cumsum(weights, axis=1)
    draws = rng.random(len(weights)) * cumulative[:, -1]
    return np.asarray((cumulative < draws[:, None]).sum(axis=1), dtype=np.int64)


def draw(rng: np.random.Generator, *, children: int, centres: int) -> Table:
    """Everything known of each child before the plan."""
    condition = rng.choice(len(SHARES), size=children, p=SHARES / SHARES.sum())
    age = np.clip(MEAN_AGE[condition] + rng.normal(0, 3.6, children), 1.6, 17.9)
    return {
        "centre": np.sort(rng.integers(0, centres, children)),
        "operation_year": rng.integers(2011, 2025, children),
        "operation_part": rng.random(children),
        "age_years": np.round(age, 1),
        "sex": rng.integers(0, 2, children),
        "condition": condition,
        "prior_cvj_surgery": np.minimum(rng.poisson(0.15, children), 3),
        **_findings(rng, condition, age),
    }


def _findings(rng: np.random.Generator, condition: Codes, age: Floats) -> Table:
    n = len(condition)
    adi = np.where(condition == 0, 9.0, 6.0) + rng.normal(0, 2.6, n)
    padi = np.clip(19.0 - 0.8 * adi + rng.normal(0, 2.0, n), 4.0, 24.0)
    nurick = np.clip(np.round(1.6 + (12 - padi) * 0.2 + rng.normal(0, 1.1, n)), 0, 5)
    opened = rng.random(n) < RING_OPEN[condition] + 0.25 * (age < 5)
    kind = pick(rng, np.tile([0.55, 0.15, 0.2, 0.1], (n, 1))) + 1
    return {
        "indication": pick(rng, np.tile([0.62, 0.2, 0.12, 0.06], (n, 1))),
        "nurick_grade": nurick.astype(np.int64),
        "adi_mm": np.round(np.clip(adi, -1, 20), 1),
        "adi_unmeasurable": rng.random(n) < np.isin(condition, [2, 3, 4]) * 0.25,
        "padi_mm": np.round(padi, 1),
        "reduces": pick(rng, np.tile([0.5, 0.27, 0.15, 0.08], (n, 1))),
        "atlas_ring": np.where(opened, kind, 0),
        "artery_right": pick(rng, np.tile([0.6, 0.17, 0.06, 0.02, 0.15], (n, 1))),
        "artery_left": pick(rng, np.tile([0.6, 0.17, 0.06, 0.02, 0.15], (n, 1))),
    }
