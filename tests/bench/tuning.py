"""500 bootstrap replays of tuning: both scales by evidence, against scikit-learn choosing one C by cross-validation."""

import csv
from pathlib import Path
from time import perf_counter

import numpy as np
from joblib import Parallel, delayed
from sklearn.linear_model import LogisticRegressionCV
from threadpoolctl import threadpool_limits

from riskmodel.cases.table import Floats
from training.posterior import ColumnPriors, posterior

WORKERS = 2
REPLAYS = 500
PEER_REPLAYS = 5
LEAST_RATIO = 80.0


def data() -> tuple[Floats, Floats]:
    """(300, 20) simulated predictors and (300,) outcomes, 54 events; see README.md."""
    with (Path(__file__).parent / "sim300x20.csv").open(encoding="utf-8") as file:
        rows = np.array([[float(cell) for cell in row] for row in list(csv.reader(file))[1:]])
    return rows[:, :20], rows[:, 20]


def resamples(count: int) -> list[np.ndarray]:
    """Row numbers of `count` bootstrap samples."""
    rng = np.random.default_rng(1)
    return [rng.integers(0, 300, 300) for _ in range(count)]


def ours(samples: list[np.ndarray]) -> list[Floats]:
    """Coefficients of each sample: 6 x 6 scales, warm-started, leave-one-out included."""
    columns, y = data()
    # Half of the columns share the second scale, so that the whole grid is there.
    priors = ColumnPriors.flat_means(np.array([0, 1] * 10, dtype=np.int8))
    with threadpool_limits(limits=1):
        start = posterior(columns - columns.mean(axis=0), y, np.ones(300), priors).modes
        out = []
        for rows in samples:
            counts = np.bincount(rows, minlength=300).astype(np.float64)
            means = counts @ columns / 300.0
            out.append(posterior(columns - means, y, counts, priors, start=start).mean)
    return out


def peer(rows: np.ndarray) -> Floats:
    """Coefficients of one sample: 20 values of C, 10 folds."""
    columns, y = data()
    with threadpool_limits(limits=1):
        search = {"Cs": 20, "cv": 10, "scoring": "neg_log_loss"}
        model = LogisticRegressionCV(**search, l1_ratios=(0.0,), use_legacy_attributes=False)
        fitted: Floats = model.fit(columns[rows], y[rows]).coef_[0]
    return fitted


def main() -> bool:
    """Time both with the same two workers, already up; print times and ratio; return whether the ratio holds."""
    run = Parallel(n_jobs=WORKERS)
    run(delayed(ours)(resamples(1)) for _ in range(WORKERS))
    run(delayed(peer)(rows) for rows in resamples(WORKERS))
    samples = resamples(REPLAYS)
    begin = perf_counter()
    run(delayed(ours)(samples[part::WORKERS]) for part in range(WORKERS))
    own = perf_counter() - begin
    begin = perf_counter()
    run(delayed(peer)(rows) for rows in samples[:PEER_REPLAYS])
    other = (perf_counter() - begin) * REPLAYS / PEER_REPLAYS
    ratio = other / own
    print(f"tuning, {REPLAYS} replays of 300 x 20 on {WORKERS} workers")
    print(f"  both scales by evidence, 6 x 6 grid: {own:.2f} s (goal 2 s)")
    print(f"  LogisticRegressionCV, 20 Cs, 10 folds: {other:.0f} s (timed on {PEER_REPLAYS}, scaled)")
    print(f"  ratio {ratio:.0f} (at least {LEAST_RATIO:.0f})")
    return ratio >= LEAST_RATIO
