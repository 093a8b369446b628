"""Folds of children: all copies of a child lie in one, and events are spread evenly over them."""

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused


def folds_of_children(y: Floats, rng: np.random.Generator, *, count: int) -> NDArray[np.intp]:
    """(m,) fold of each of m children, from 0 to `count` - 1.

    Parameters
    ----------
    y
        (m,) outcome of each child, 0 or 1, each child once however often it was drawn.

    Raises
    ------
    FitRefused
        When there are fewer events or non-events than folds.
    """
    folds = np.empty(len(y), dtype=np.intp)
    for label in (0.0, 1.0):
        rows = np.flatnonzero(y == label)
        if len(rows) < count:
            kind = "events" if label else "non-events"
            raise FitRefused(f"{count} folds of children need as many {kind}: found {len(rows)}")
        folds[rng.permutation(rows)] = np.arange(len(rows)) % count
    return folds
