"""Curves of the card: what each measurement adds over its range, and how risks given agree with what happened."""

from collections.abc import Iterator
from math import isclose

import numpy as np

from riskmodel.account import whole_slices
from riskmodel.bundle import Bundle
from riskmodel.cases.table import Floats, column
from riskmodel.dictionary.model import Kind
from riskmodel.documents.words import short, signed
from riskmodel.drawing import Calibration, Effect
from riskmodel.model import LEVEL, middle
from riskmodel.terms import Linear, Range, Spline

POINTS = 41
TOLD = 5


def effects(bundle: Bundle) -> tuple[Effect, ...]:
    """For each measured amount what it adds over the range of the cohort, less what it adds on average."""
    return tuple(held for _, held in _effects(bundle))


def effect(bundle: Bundle, term: str) -> Effect | None:
    """The curve of one term; None when the term is not of a measured amount."""
    return dict(_effects(bundle)).get(term)


def _effects(bundle: Bundle) -> Iterator[tuple[str, Effect]]:
    whole = whole_slices(bundle.terms)
    for term in bundle.terms:
        name = term.variables[0]
        if not isinstance(term.basis, Linear | Spline) or name not in bundle.ranges.numbers:
            continue
        variable, (low, high) = bundle.dictionary.variables[name], bundle.ranges.numbers[name]
        # Where all children had one value there is no curve to draw.
        if variable.kind in (Kind.NUMBER, Kind.INTEGER) and low < high:
            label = f"{variable.label}, {variable.unit}" if variable.unit else variable.label
            yield term.name, _effect(bundle, term.basis, whole[term.name], (low, high), label)


def _effect(bundle: Bundle, basis: Linear | Spline, span: slice, reach: Range, label: str) -> Effect:
    values: Floats = np.linspace(*reach, POINTS)
    own = basis.columns(column(values))
    # The columns of its states, if it has any, come after its own, and no value is in a state.
    states = np.zeros((POINTS, span.stop - span.start - own.shape[1]))
    shifted = np.hstack([own, states]) - bundle.column_means[span]
    lower, upper = middle(shifted @ bundle.draws[:, 1:][:, span].T, LEVEL)
    added = shifted @ bundle.coefficients[span]
    return Effect(label, *(tuple(held.tolist()) for held in (values, added, lower, upper)))


def calibration(bundle: Bundle) -> Calibration | None:
    """The smooth curve of the bundle, over children left out one at a time; None when it holds none."""
    held = bundle.performance.get("curves", {}).get("calibration")
    if not held or len(held.get("predicted", ())) < 2:
        return None
    return Calibration(
        predicted=tuple(held["predicted"]),
        observed=tuple(held["observed"]),
        low=tuple(held["low"]) if held.get("low") else None,
        high=tuple(held["high"]) if held.get("high") else None,
    )


def effect_words(held: Effect) -> str:
    """A few points of the curve in words."""
    told = (
        f"at {short(round(held.values[i], 2))}: {signed(held.log_odds[i])}"
        f" ({signed(held.low[i])} to {signed(held.high[i])})"
        for i in _spread(len(held.values))
    )
    return f"{held.label}. Added log-odds, with the 90% interval: {'; '.join(told)}."


def calibration_words(held: Calibration) -> str:
    """A few points of the curve in words."""
    points = [(held.predicted[i], held.observed[i]) for i in _spread(len(held.predicted))]
    told = (f"given {100 * given:.0f}, happened {100 * happened:.0f}" for given, happened in points)
    return f"Of 100 children: {'; '.join(told)}."


def _spread(count: int) -> tuple[int, ...]:
    """A few indices from the first to the last, evenly spread."""
    return tuple(dict.fromkeys(round(i * (count - 1) / (TOLD - 1)) for i in range(TOLD)))


def moves(held: Effect) -> bool:
    """Whether the curve says anything: a term without a coefficient is a line at 0."""
    return not all(isclose(low, high, abs_tol=1e-12) for low, high in zip(held.low, held.high, strict=True))
