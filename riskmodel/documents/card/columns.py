"""The sum in words: for each column what it is, its coefficient, how sure, and what was believed before."""

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from riskmodel.account import label
from riskmodel.bundle import Bundle
from riskmodel.dictionary.model import Dictionary, Variable
from riskmodel.documents.card.model import Coefficient
from riskmodel.documents.words import MINUS, human, short
from riskmodel.model import LEVEL, middle
from riskmodel.terms import Levels, Linear, Part, Product, Spline, States, Term

Beliefs = Mapping[tuple[str, str], Mapping[str, Any]]


def coefficients(bundle: Bundle) -> tuple[Coefficient, ...]:
    """One line for each column, in the order of the sum."""
    low, high = middle(bundle.draws[:, 1:].T, LEVEL)
    return tuple(_lines(bundle, low, high, _beliefs(bundle)))


def _lines(bundle: Bundle, low: np.ndarray, high: np.ndarray, beliefs: Beliefs) -> Iterator[Coefficient]:
    at = 0
    for term in bundle.terms:
        for name in term.basis.names:
            belief = beliefs.get((term.name, name), {})
            yield Coefficient(
                term=term.name,
                label=label(term, bundle.dictionary),
                column=column_words(term, name, bundle.dictionary),
                unit=_unit(term, bundle.dictionary),
                mean=float(bundle.column_means[at]),
                coefficient=float(bundle.coefficients[at]),
                low=float(low[at]),
                high=float(high[at]),
                prior_mean=belief.get("mean"),
                prior_sd=belief.get("sd"),
                prior_source=belief.get("source"),
            )
            at += 1


def _beliefs(bundle: Bundle) -> Beliefs:
    """What the bundle says was believed of each (term, column) beforehand, if it does."""
    told = bundle.performance.get("priors", ())
    return {(entry["term"], entry.get("column") or ""): entry for entry in told}


def _unit(term: Term, dictionary: Dictionary) -> str:
    amount = isinstance(term.basis, Linear | Spline)
    return dictionary.variables[term.variables[0]].unit if amount else ""


def column_words(term: Term, name: str, dictionary: Dictionary) -> str:
    """How the column follows from the value x, or when it is 1."""
    variable = dictionary.variables[term.variables[0]]
    match term.basis:
        case Linear() as basis:
            return _amount(basis, variable)
        case Spline() as basis:
            linear = Linear(basis.centre, basis.scale, basis.clip)
            knots = ", ".join(short(knot) for knot in basis.knots)
            return _amount(linear, variable) if name == "linear" else f"{human(name)} (knots at {knots})"
        case Levels() as basis:
            return _level(name, basis, variable, dictionary)
        case States():
            return human(name)
        case Product() as basis:
            return " × ".join(_part(part, dictionary) for part in basis.parts)


def _amount(basis: Linear, variable: Variable) -> str:
    if not variable.kind.numeric and (basis.centre, basis.scale) == (0.0, 1.0):
        return "yes"
    held = "" if basis.clip is None else f", x kept within {short(basis.clip[0])} to {short(basis.clip[1])}"
    if basis.log2:
        inner = f"log2(x / {short(basis.centre)})"
    elif basis.scale == 1.0:
        inner = f"x {MINUS} {short(basis.centre)}" if basis.centre else "x"
    else:
        inner = f"(x {MINUS} {short(basis.centre)})" if basis.centre else "x"
    return (inner if basis.scale == 1.0 else f"{inner} / {short(basis.scale)}") + held


def _level(name: str, basis: Levels, variable: Variable, dictionary: Dictionary) -> str:
    labels = {level.code: level.label for level in variable.levels}
    if name in labels:
        return labels[name]
    grouping = dictionary.variables.get(variable.grouped_by or "")
    groups = {} if grouping is None else {level.code: level.label for level in grouping.levels}
    named = groups.get(name, human(name))
    members = next(held.members for held in basis.indicators if held.name == name)
    return f"{named} (any of {len(members)})"


def _part(part: Part, dictionary: Dictionary) -> str:
    variable = dictionary.variables[part.variable]
    if isinstance(part.basis, Levels):
        inner = f"{variable.label}: {_level(part.basis.names[0], part.basis, variable, dictionary)}"
    else:
        inner = f"{variable.label}: {_amount(part.basis, variable)}"
    return f"not ({inner})" if part.negated else inner
