"""Grid points of each term at which the replays are asked which way the term pulls."""

from collections.abc import Iterator
from itertools import product

import numpy as np

from riskmodel.cases.table import STATE_WORDS, CaseTable, Floats, State, column
from riskmodel.dictionary.model import Kind
from riskmodel.terms import Levels, Product, States, Term
from training.cohort import Cohort
from training.features import bounds

POINTS = 32
POINTS_OF_PRODUCT = 8


def grid(term: Term, cohort: Cohort) -> Floats:
    """(g, width) distinct columns of the term at 32 values of a number (8 in a product), at every level and state."""
    if isinstance(term.basis, Product):
        axes = [list(_axis(term, name, cohort, POINTS_OF_PRODUCT)) for name in term.variables]
    else:
        axes = [list(_axis(term, term.variables[0], cohort, POINTS))]
    points = list(product(*axes))
    columns = {
        name: column([point[i][0] for point in points], [point[i][1] for point in points])
        for i, name in enumerate(term.variables)
    }
    held = term.columns(CaseTable(tuple(str(i) for i in range(len(points))), columns))
    distinct: Floats = np.unique(np.round(held, 9), axis=0)
    return distinct


def _axis(term: Term, name: str, cohort: Cohort, points: int) -> Iterator[tuple[float, State]]:
    """Values (with their states) of one variable: its levels, its state words, or a range of numbers."""
    held = cohort.cases[name]
    variable = cohort.dictionary.variables[name]
    if isinstance(term.basis, States):
        yield from ((np.nan, STATE_WORDS[word]) for word in term.basis.states)
        yield 0.0, State.PRESENT
    elif isinstance(term.basis, Levels) or variable.codes:
        yield from ((float(i), State.PRESENT) for i in range(len(variable.codes)))
    elif variable.kind is Kind.YES_NO:
        yield from ((float(value), State.PRESENT) for value in (0, 1))
    else:
        low, high = bounds(held, variable.resolution) or (variable.centre, variable.centre)
        yield from ((float(value), State.PRESENT) for value in np.linspace(low, high, points))
