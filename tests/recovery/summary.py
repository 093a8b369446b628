"""Means over repeats with their Monte-Carlo errors, computed between repeats."""

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from tests.recovery.store import FOLDER, path, rows

FEW: Final = 2


class Table:
    """Rows of one setting, or of one part of them, as columns of numbers (NaN where there is none)."""

    __slots__ = ("columns", "count")

    def __init__(self, held: Sequence[dict[str, str]]) -> None:
        self.count = len(held)
        names = [name for name in held[0] if name != "setting"] if held else []
        self.columns = {name: np.array([float(row[name] or "nan") for row in held]) for name in names}

    def __getitem__(self, name: str) -> Floats:
        return self.columns.get(name, np.empty(0))

    def where(self, name: str, value: float) -> "Table":
        """The repeats in which a column has this value."""
        kept = self[name] == value
        part = Table([])
        part.count = int(np.count_nonzero(kept))
        part.columns = {each: values[kept] for each, values in self.columns.items()}
        return part


def tables(stage: str) -> dict[str, Table]:
    """The results of a stage by setting, in the order of the stage."""
    held = rows(path(stage, FOLDER))
    names = dict.fromkeys(row["setting"] for row in held)
    return {name: Table([row for row in held if row["setting"] == name]) for name in names}


def mean(values: Floats) -> tuple[float, float]:
    """Mean and its standard error; NaN where there are too few."""
    kept = values[~np.isnan(values)]
    if not len(kept):
        return float("nan"), float("nan")
    error = float(kept.std(ddof=1) / np.sqrt(len(kept))) if len(kept) >= FEW else float("nan")
    return float(kept.mean()), error


def ratio(top: Floats, bottom: Floats) -> tuple[float, float]:
    """Ratio of the means, and its jackknife error over repeats."""
    return jackknife(lambda rows: float(top[rows].mean() / bottom[rows].mean()), ~np.isnan(top) & ~np.isnan(bottom))


def jackknife(value: Callable[[NDArray[np.intp]], float], kept: NDArray[np.bool_]) -> tuple[float, float]:
    """A number of the kept repeats, and its error by leaving out one repeat at a time."""
    at = np.flatnonzero(kept)
    if len(at) < FEW:
        return (value(at) if len(at) else float("nan")), float("nan")
    left = np.array([value(np.delete(at, place)) for place in range(len(at))])
    return value(at), float(np.sqrt((len(at) - 1) * np.mean((left - left.mean()) ** 2)))


def share(values: Floats) -> tuple[float, float]:
    """Share of ones and its binomial error."""
    kept = values[~np.isnan(values)]
    if not len(kept):
        return float("nan"), float("nan")
    part = float(kept.mean())
    return part, float(np.sqrt(part * (1.0 - part) / len(kept)))
