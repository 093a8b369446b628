"""The ruled account: each line with its figure, and what its term adds elsewhere on its range, this child marked."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskmodel.account import Contribution, whole_slices
from riskmodel.bundle import Bundle
from riskmodel.cases.table import STATE_WORDS, Column, State, column
from riskmodel.dictionary.coding import labels_of
from riskmodel.dictionary.model import Kind
from riskmodel.documents.card.columns import column_words
from riskmodel.documents.card.curves import effect, effect_words
from riskmodel.documents.words import human, of_100, short, signed, span
from riskmodel.drawing import effect_curve
from riskmodel.like_cases import FEWER
from riskmodel.missing import Holds
from riskmodel.model import middle
from riskmodel.scoring import RiskEstimate
from riskmodel.terms import Basis, Linear, Part, Product, States, Term, slices

A_VALUE = "a value"
FEW = f"{FEWER} children of the cohort"


@dataclass(frozen=True, slots=True)
class Row:
    """What a term adds at one level: figure and 90% range in log-odds; `few` when hardly a child had it."""

    label: str
    figure: str
    between: str
    few: str = ""
    here: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A term over its range: as a curve, or row by row; `words` say how to read it and where the cohort had data."""

    words: str
    svg: str = ""
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the account; figures in log-odds."""

    label: str
    value: str
    figure: str
    between: str
    same_sign: str
    picture: Picture


@dataclass(frozen=True, slots=True)
class Ruled:
    """The account of one answer, from the base to the total."""

    base: str
    base_rate: str
    lines: tuple[Line, ...]
    total: str
    total_rate: str


def ruled(bundle: Bundle, answer: RiskEstimate) -> Ruled | None:
    """The account of an answer; None when it has none."""
    if not answer.contributions or answer.probability is None:
        return None
    terms = {term.name: term for term in bundle.terms}
    return Ruled(
        base=signed(answer.base_log_odds),
        base_rate=of_100(answer.base_probability),
        lines=tuple(_line(bundle, held, terms[held.term]) for held in answer.contributions),
        total=signed(answer.log_odds),
        total_rate=of_100(answer.probability),
    )


def _line(bundle: Bundle, held: Contribution, term: Term) -> Line:
    same = "" if held.same_sign_share is None else f"{held.same_sign_share:.0%}"
    return Line(
        label=held.label,
        value=_value(held, term),
        figure=signed(held.log_odds),
        between=f"{signed(held.low)} to {signed(held.high)}",
        same_sign=same,
        picture=_picture(bundle, held, term),
    )


def _value(held: Contribution, term: Term) -> str:
    if isinstance(held.value, float):
        return f"{short(held.value)} {held.unit}".strip()
    if held.value is None:
        return "not known"
    if isinstance(term.basis, Product):
        return "does not hold here" if held.value == "no" else "holds here"
    return human(held.value)


def _picture(bundle: Bundle, held: Contribution, term: Term) -> Picture:
    curve = effect(bundle, term.name)
    if curve is not None:
        at = held.value if isinstance(held.value, float) else None
        low, high = bundle.ranges.numbers[term.variables[0]]
        words = f"The curve runs where the cohort had children: {span(low, high, held.unit)}."
        return Picture(words, svg=effect_curve(curve, effect_words(curve), at=at).svg)
    rows = tuple(_rows(bundle, term))
    if isinstance(term.basis, Product):
        return Picture(_product_words(bundle, term.basis), rows=rows)
    shown = tuple(replace(row, here=row.label == _value(held, term)) for row in rows)
    return Picture("What each level adds; this child's is marked.", rows=shown)


def _product_words(bundle: Bundle, basis: Product) -> str:
    parts = (_part_words(bundle, part) for part in basis.parts)
    return f"Counts what holds together: {'; '.join(parts)}."


def _part_words(bundle: Bundle, part: Part) -> str:
    told = column_words(Term("", (part.variable,), part.basis), part.basis.names[0], bundle.dictionary)
    words = f"{bundle.dictionary.variables[part.variable].label}: {told}"
    return f"not {words}" if part.negated else words


def _rows(bundle: Bundle, term: Term) -> Iterator[Row]:
    """The term at each value and in each state that its variable can take, as far as these can be listed."""
    where = whole_slices(bundle.terms)[term.name]
    told: tuple[str, ...]
    if isinstance(term.basis, Product):
        told, columns = ("it does not hold", "it holds"), np.array([[0.0], [1.0]])
    else:
        of_line = [each for each, own in slices(bundle.terms) if where.start <= own.start < where.stop]
        told, cells = _listed(bundle, of_line)
        columns = np.hstack([each.basis.columns(cells) for each in of_line if not isinstance(each.basis, Product)])
    shifted = columns - bundle.column_means[where]
    low, high = middle(shifted @ bundle.draws[:, 1:][:, where].T)
    added = shifted @ bundle.coefficients[where]
    few = _few(bundle, term)
    for label, figure, below, above in zip(told, added, low, high, strict=True):
        yield Row(label, signed(figure), f"{signed(below)} to {signed(above)}", FEW if label in few else "")


def _listed(bundle: Bundle, of_line: Sequence[Term]) -> tuple[tuple[str, ...], Column]:
    """Values, then states, of one variable in words, and as a column."""
    values, cells = _values(bundle, of_line[0])
    words = [word for term in of_line if isinstance(term.basis, States) for word in term.basis.states]
    states = [State.PRESENT] * len(values) + [STATE_WORDS[word] for word in words]
    return (*values, *map(human, words)), column([*cells, *(0.0 for _ in words)], states)


def _values(bundle: Bundle, term: Term) -> tuple[tuple[str, ...], Sequence[float]]:
    variable = bundle.dictionary.variables[term.variables[0]]
    if isinstance(term.basis, States):
        return (A_VALUE,), (0.0,)
    labels = labels_of(variable)
    if labels:
        return labels, range(len(labels))
    low, high = bundle.ranges.numbers.get(variable.name, (variable.centre, variable.centre))
    values = np.linspace(low, high, 5) if low < high else np.array([low])
    return tuple(short(float(value)) for value in values), values.tolist()


def _few(bundle: Bundle, term: Term) -> frozenset[str]:
    """Labels of the levels that fewer than 5 children had, where the bundle tells."""
    variable = bundle.dictionary.variables[term.variables[0]]
    if not _of_levels(term.basis) or variable.kind is not Kind.LEVEL:
        return frozenset()
    blocks = [block for block in bundle.moments.blocks if block.variable == variable.name]
    had = {code for block in blocks if block.holds is Holds.LEVEL for code in (*block.names, block.rest)}
    had |= set(bundle.ranges.levels.get(variable.name, ()))
    return frozenset(level.label for level in variable.levels if had and level.code not in had)


def _of_levels(basis: Basis) -> bool:
    return not isinstance(basis, States | Product | Linear)
