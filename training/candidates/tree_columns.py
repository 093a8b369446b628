"""What boosted trees see of a child: raw numbers with their holes, 0/1 marks of levels and states, no product."""

from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import CaseTable, Floats
from riskmodel.dictionary.model import Dictionary
from riskmodel.documents.card.columns import column_words
from riskmodel.terms import Levels, Linear, Spline, States, Term, slices
from training.features import Design

DIRECTIONS = {None: 0, "rises": 1, "falls": -1}


@dataclass(frozen=True, slots=True)
class TreeColumns:
    """`values` (n, k), NaN where a value is not there, held to single precision; `names` (k,) in words.

    `directions` (k,): 1 where the risk may only rise with the value, -1 where it may only fall, 0 where it is free.
    Single precision, since explanations of trees go wrong by whole log-odds where a split falls between two doubles.
    """

    values: Floats
    names: tuple[str, ...]
    directions: tuple[int, ...]


def tree_columns(cases: CaseTable, dictionary: Dictionary, design: Design) -> TreeColumns:
    """Columns of the design's terms as trees take them; levels and states that too few children carry are left out."""
    parts: list[tuple[Floats, list[str], int]] = []
    for term, span in slices(design.recipe.terms):
        variable = dictionary.variables[term.variables[0]]
        if isinstance(term.basis, Linear | Spline):
            parts.append((cases[variable.name].values[:, None], [variable.label], DIRECTIONS[variable.monotone]))
        elif isinstance(term.basis, Levels | States):
            learned = design.learned[span]
            kept = [name for name, keep in zip(term.basis.names, learned, strict=True) if keep]
            names = [f"{variable.label}: {column_words(term, name, dictionary)}" for name in kept]
            parts.append((_marks(term, cases)[:, learned], names, 0))
    values = np.hstack([np.empty((len(cases), 0)), *(held for held, _, _ in parts)])
    return TreeColumns(
        values.astype(np.float32).astype(np.float64),
        tuple(name for _, names, _ in parts for name in names),
        tuple(direction for _, names, direction in parts for _ in names),
    )


def _marks(term: Term, cases: CaseTable) -> Floats:
    marks = term.columns(cases)
    return np.where(cases[term.variables[0]].missing[:, None], np.nan, marks)
