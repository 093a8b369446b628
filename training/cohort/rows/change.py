"""From repeated measurements after the operation to the first change against the first of them."""

import numpy as np

from training.cohort.rows.further import Long
from training.cohort.rows.happened import Happened
from training.cohort.rows.measures import MODALITY, MONTHS, POSITION, SAME_TIME_MONTHS, TRACTION, VALUE, of_variable
from training.protocol.row_rules import ChangeRule

TOLERANCE = 1e-9

Series = list[tuple[float, float, int]]


def changed(rows: Long, rule: ChangeRule, name: str, count: int) -> Happened:
    """When each of `count` children first showed a change, compared within one variable, modality and position.

    A child with two comparable measurements and no such change did not have it; a child without two is not known.
    """
    months, places = np.full(count, np.nan), np.zeros(count, dtype=np.intp)
    compared = np.zeros(count, dtype=np.bool_)
    for (child, *_), series in _series(rows, rule).items():
        first, *later = _averaged(series)
        compared[child] |= bool(later)
        for time, value, row in later:
            if abs(value - first[1]) >= rule.at_least - TOLERANCE:
                if not months[child] <= time:
                    months[child], places[child] = time, rows.sheet.numbers[row] or 0
                break
    return Happened(name, rows.sheet.name, months, places, compared & np.isnan(months))


def _series(rows: Long, rule: ChangeRule) -> dict[tuple[int, str, float, float], Series]:
    """The measurements after the operation of each child, variable, modality and position, in order of time."""
    held: dict[tuple[int, str, float, float], Series] = {}
    placed = rows[VALUE].present & rows[MODALITY].present & rows[POSITION].present & (rows[TRACTION].values != 1)
    for name in rule.of:
        for row in np.flatnonzero(placed & of_variable(rows, name) & (rows[MONTHS].values > 0)).tolist():
            key = (int(rows.child[row]), name, rows[MODALITY].values[row], rows[POSITION].values[row])
            held.setdefault(key, []).append((rows[MONTHS].values[row], rows[VALUE].values[row], row))
    return {key: sorted(series) for key, series in held.items()}


def _averaged(series: Series) -> Series:
    """The mean over readers of one time."""
    made: Series = []
    together: Series = []
    for each in series:
        if together and each[0] - together[0][0] > SAME_TIME_MONTHS:
            made.append(_mean(together))
            together = []
        together.append(each)
    return [*made, _mean(together)]


def _mean(together: Series) -> tuple[float, float, int]:
    return together[0][0], sum(value for _, value, _ in together) / len(together), together[0][2]
