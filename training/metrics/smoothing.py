"""A smooth curve of the observed risk against the predicted one: local quadratic regression, computed directly."""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from riskmodel.cases.table import Floats
from training.metrics.sample import Marks, Sample, Whole

SPAN = 0.75
FEWEST_KNOWN = 10
TOO_FEW = f"a smooth calibration curve needs at least {FEWEST_KNOWN} children whose outcome is known"

MOST_CELLS = 8_192  # of one block of windows: 64 KB an array, so that a block stays in the cache (twice as fast)
NO_WIDTH = 1e-20  # share of the squared distance scale below which a window holds one value only
NO_BEND = 1e-14  # the same for the part of the squared distances that a line does not explain


def smooth_risk(sample: Sample, at: Floats) -> Floats:
    """Return the smoothed observed risk at predicted probabilities `at` (m,), cut to [0, 1].

    Repeated children count as repeated rows, in the width of the windows too. `sample` must hold at least
    `FEWEST_KNOWN` known outcomes; the caller asks `too_few` first.
    """
    rows = np.repeat(np.arange(len(sample.y_prob)), sample.known_counts)
    weights = sample.weights[rows] / sample.known_counts[rows]
    distinct, back = np.unique(at, return_inverse=True)
    curve = local_quadratic(sample.y_prob[rows], sample.y_obs[rows], weights, distinct)
    cut: Floats = np.clip(curve, 0, 1)[back]
    return cut


def too_few(sample: Sample) -> str | None:
    """Return why no curve can be drawn through this sample, or None."""
    return TOO_FEW if sample.known_counts.sum() < FEWEST_KNOWN else None


def local_quadratic(x: Floats, y: Floats, weights: Floats, at: Floats, *, span: float = SPAN) -> Floats:
    """Return the local quadratic regression of y on x at the points `at`, fitted afresh at every point.

    Parameters
    ----------
    x, y, weights
        (n,) regressor, response, weight > 0.
    at
        (m,) where to evaluate.
    span
        Share of the rows in each window, in (0, 1]; at least 3 rows.

    Returns
    -------
    (m,) fitted values; with a 0/1 response they may leave [0, 1].

    Notes
    -----
    Each window holds the q = floor(span * n) rows nearest to the point; a row at distance d is weighted by
    (1 - (d / h)^3)^3, h = distance of the farthest of the q, times its own weight (Cleveland & Devlin 1988). The
    parabola is found by orthogonal polynomials in the window. Where the window holds too few distinct values for a
    parabola, a line or the mean takes its place. Equals R's `loess(degree = 2, surface = "direct")`. O(m n).
    """
    order = np.argsort(x, kind="stable")
    x, y, weights = x[order], y[order], weights[order]
    q = min(len(x), max(3, int(span * len(x) + 1e-5)))
    starts = _nearest_windows(x, at, q)
    fitted = np.empty(len(at))
    windows = [sliding_window_view(column, q) for column in (x, y, weights)]
    block = max(1, MOST_CELLS // q)
    for first in range(0, len(at), block):
        part = slice(first, first + block)
        in_x, in_y, in_weights = (window[starts[part]] for window in windows)
        fitted[part] = _fit_windows(in_x - at[part, np.newaxis], in_y, in_weights)
    one_value = x[starts] == x[starts + q - 1]  # more rows may hold it than the window: the mean of all of them
    fitted[one_value] = _means_at(x, y, weights, x[starts[one_value]])
    return fitted


def _means_at(ordered: Floats, y: Floats, weights: Floats, values: Floats) -> Floats:
    """Return the weighted mean of y over all rows whose regressor is exactly each value."""
    first, end = np.searchsorted(ordered, values, "left"), np.searchsorted(ordered, values, "right")
    heaped = np.concatenate(([0.0], np.cumsum(weights)))
    heaped_y = np.concatenate(([0.0], np.cumsum(weights * y)))
    means: Floats = (heaped_y[end] - heaped_y[first]) / (heaped[end] - heaped[first])
    return means


def _nearest_windows(ordered: Floats, at: Floats, q: int) -> Whole:
    """Return for each point the first of the q consecutive ordered values nearest to it (bisection, all at once)."""
    low = np.zeros(len(at), dtype=np.int64)
    high = np.full(len(at), len(ordered) - q, dtype=np.int64)
    while (low < high).any():
        middle = (low + high) // 2
        last = np.minimum(middle + q, len(ordered) - 1)
        move_right = (low < high) & (at - ordered[middle] > ordered[last] - at)
        low = np.where(move_right, middle + 1, low)
        high = np.where(move_right, high, middle)
    return low


def _fit_windows(distances: Floats, y: Floats, weights: Floats) -> Floats:
    """Return the value at distance 0 of the weighted parabola through each row of (m, q) windows."""
    scaled, weights = _tricube(distances, weights)
    total = weights.sum(axis=1)
    mean_x = _sum(weights, scaled) / total
    mean_y = _sum(weights, y) / total
    across = scaled - mean_x[:, np.newaxis]  # first orthogonal polynomial: the line
    weighted = weights * across
    squares = _sum(weighted, across)
    has_line = squares > NO_WIDTH * total
    per_square = _one_over(squares, has_line)
    curved = across * across
    lean = _sum(weighted, curved) * per_square
    fourth = _sum(weights, curved * curved)
    curved -= lean[:, np.newaxis] * across + (squares / total)[:, np.newaxis]  # second: the bend
    weights *= curved
    bends = _sum(weights, curved)
    per_bend = _one_over(bends, has_line & (bends > NO_BEND * fourth))
    at_zero = mean_x * mean_x + lean * mean_x - squares / total
    fitted: Floats = mean_y - mean_x * _sum(weighted, y) * per_square + at_zero * _sum(weights, y) * per_bend
    return fitted


def _tricube(distances: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Return distances over the widest of their window, and the weights times the tricube of these."""
    away = np.abs(distances)
    widest = away.max(axis=1, keepdims=True)
    level = (away == widest).all(axis=1)  # all equally far, so the tricube is 0 for all: they count in full instead
    widest[widest == 0] = 1
    away /= widest
    near = 1 - away * away * away
    near[level] = 1
    return distances / widest, near * near * near * weights


def _sum(left: Floats, right: Floats) -> Floats:
    product: Floats = np.vecdot(left, right)
    return product


def _one_over(values: Floats, where: Marks) -> Floats:
    """Return 1 / values where that is wanted, else 0 (the term is left out)."""
    inverse: Floats = np.divide(1.0, values, out=np.zeros_like(values), where=where)
    return inverse
