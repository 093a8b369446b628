"""Losses of each child in the replays that did not draw it: what two candidates do is compared on the same children."""

from collections.abc import Callable

import numpy as np

from riskmodel.cases.table import Floats
from training.replay.result import ReplayResult

Loss = Callable[[Floats, Floats], Floats]


def losses(held: ReplayResult, y: Floats, loss: Loss, *, replays: int | None = None) -> Floats:
    """(n,) mean loss of each child over the replays that left it out; NaN for a child that none left out.

    Parameters
    ----------
    y
        (n,) outcome at the horizon.
    loss
        Elementwise, of outcomes and probabilities.
    replays
        Only the first so many: candidates may have been replayed unequally often.
    """
    drawn, predicted = held.drawn[:replays], held.predictions[:replays]
    out = (drawn == 0) & ~np.isnan(predicted)
    found = np.where(out, loss(np.broadcast_to(y, predicted.shape), np.where(out, predicted, 0.5)), 0.0)
    times = out.sum(axis=0)
    mean: Floats = np.divide(found.sum(axis=0), times, out=np.full(len(y), np.nan), where=times > 0)
    return mean
