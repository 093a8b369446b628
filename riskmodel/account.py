"""The account of an estimate: what each term added to the base, how sure that is, and whether its sign held.

A term of states ("not tested") and the term of its variable's values are one line: for a child either the value speaks
or the state does, and both columns move with it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import STATE_WORDS, CaseTable, Floats, State
from riskmodel.dictionary.coding import labels_of
from riskmodel.dictionary.model import Dictionary
from riskmodel.model import Model, middle
from riskmodel.terms import Product, States, Term, slices

_WORD_OF = {int(state): word for word, state in STATE_WORDS.items()}


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of the account, in log-odds.

    `value` is what the case held: a number in `unit`, the label of a level or step, the word of a state, in the line of
    a product whether all its parts hold ("yes" or "no"), or None when it was missing. `low` and `high` hold the middle
    90% of the draws; `same_sign_share` is the share of replays in which the contribution had this sign (None when it is
    0 or nobody replayed it).
    """

    term: str
    variables: tuple[str, ...]
    label: str
    value: float | str | None
    unit: str
    log_odds: float
    low: float
    high: float
    same_sign_share: float | None


@dataclass(frozen=True, slots=True)
class Account:
    """Contributions of n cases as arrays (n, terms): log-odds, low and high, and the share of replays above 0.

    `columns` (n, C) are those that the contributions come from, `spans` those that the line of each term speaks for.
    A term of states and that of its variable's values hold the same log-odds: what both add. The share is of each by
    itself: a line tells that of the part that speaks.
    """

    log_odds: Floats
    low: Floats
    high: Floats
    positive_share: Floats
    columns: Floats
    spans: tuple[slice, ...]


def blank(model: Model, count: int) -> Account:
    """An account to be filled in; the parts that need no draws are filled in by `state`."""
    terms, whole = model.recipe.terms, whole_slices(model.recipe.terms)
    log_odds, low, high, share = np.full((4, count, len(terms)), np.nan)
    columns = np.empty((count, model.recipe.width))
    return Account(log_odds, low, high, share, columns, tuple(whole[term.name] for term in terms))


def state(model: Model, columns: Floats, held: Account) -> None:
    """Fill in contributions and their shares for (n, C) columns."""
    held.columns[:] = columns
    added = (columns - model.column_means) * model.coefficients
    known = {stability.term: stability for stability in model.stability}
    for t, (term, span) in enumerate(zip(model.recipe.terms, model.recipe.spans, strict=True)):
        held.log_odds[:, t] = added[:, held.spans[t]].sum(axis=1)
        if term.name in known:
            held.positive_share[:, t] = known[term.name].positive_share(columns[:, span])


def bound(model: Model, drawn: Floats, rows: np.ndarray, held: Account) -> None:
    """Fill in low and high of the cases `rows` from their columns (m, C) or drawn columns (m, K, C)."""
    for t, span in enumerate(held.spans):
        held.low[rows, t], held.high[rows, t] = middle(model.drawn_contribution(drawn, span))


def whole_slices(terms: Sequence[Term]) -> dict[str, slice]:
    """The columns that the line of each term speaks for: its own, with those of its variable's states or values."""
    spans = {term.name: span for term, span in slices(terms)}
    for t in _beside_values(terms):
        values, states = terms[t - 1].name, terms[t].name
        spans[values] = spans[states] = slice(spans[values].start, spans[states].stop)
    return spans


def _beside_values(terms: Sequence[Term]) -> Iterator[int]:
    """The places of terms of states that follow the term of their variable's values."""
    for t in range(1, len(terms)):
        if isinstance(terms[t].basis, States) and terms[t - 1].variables == terms[t].variables:
            yield t


def lines(model: Model, cases: CaseTable, held: Account, case: int) -> tuple[Contribution, ...]:
    """The account of one case, in the order of the terms."""
    terms, dictionary, columns = model.recipe.terms, model.recipe.dictionary, held.columns[case]
    own = zip(terms, model.recipe.spans, strict=True)
    values = [_value(term, columns[span], dictionary, cases, case) for term, span in own]
    silent = {_silent(terms, t, values[t]) for t in _beside_values(terms)}
    return tuple(_line(model, held, case, t, value) for t, value in enumerate(values) if t not in silent)


def _silent(terms: Sequence[Term], t: int, value: float | str | None) -> int:
    """Of values and states of one variable, those that say nothing of the case."""
    basis = terms[t].basis
    return t - 1 if isinstance(basis, States) and value in basis.states else t


def _line(model: Model, held: Account, case: int, t: int, value: float | str | None) -> Contribution:
    term, dictionary = model.recipe.terms[t], model.recipe.dictionary
    log_odds = float(held.log_odds[case, t])
    return Contribution(
        term=term.name,
        variables=term.variables,
        label=_line_label(term, dictionary),
        value=value,
        unit=_unit(term, dictionary),
        log_odds=log_odds,
        low=float(held.low[case, t]),
        high=float(held.high[case, t]),
        same_sign_share=_same_sign(log_odds, float(held.positive_share[case, t])),
    )


def speaking(told: Sequence[Contribution], terms: Sequence[Term]) -> tuple[Contribution, ...]:
    """The lines that say something of this case, for whoever shows a few of them; the whole account has them all.

    Left out are products that do not hold in this case: what they add is what they lack of the cohort's mean.
    """
    products = {term.name for term in terms if isinstance(term.basis, Product)}
    return tuple(line for line in told if line.term not in products or line.value != "no")


def _same_sign(log_odds: float, positive: float) -> float | None:
    if np.isnan(positive) or log_odds == 0.0:
        return None
    return positive if log_odds > 0.0 else 1.0 - positive


def label(term: Term, dictionary: Dictionary) -> str:
    """The term in words for people."""
    words = [dictionary.variables[name].label for name in term.variables]
    if isinstance(term.basis, States):
        return f"{words[0]}: {' or '.join(word.replace('_', ' ') for word in term.basis.states)}"
    return " and ".join(words) + " together" if isinstance(term.basis, Product) else words[0]


def _line_label(term: Term, dictionary: Dictionary) -> str:
    """As `label`; a state stands beside the variable's label as its value."""
    return dictionary.variables[term.variables[0]].label if isinstance(term.basis, States) else label(term, dictionary)


def _unit(term: Term, dictionary: Dictionary) -> str:
    single = len(term.variables) == 1 and not isinstance(term.basis, States)
    return dictionary.variables[term.variables[0]].unit if single else ""


def _value(term: Term, columns: Floats, dictionary: Dictionary, cases: CaseTable, case: int) -> float | str | None:
    """What the case held for a term of these (width,) columns, as in `Contribution.value`."""
    states = [int(cases[name].states[case]) for name in term.variables]
    if isinstance(term.basis, Product):
        unknown = int(State.MISSING) in states
        return None if unknown else "yes" if columns.any() else "no"
    if states[0] != int(State.PRESENT):
        return _WORD_OF.get(states[0])
    if isinstance(term.basis, States):
        return "no"
    variable, value = dictionary.variables[term.variables[0]], float(cases[term.variables[0]].values[case])
    labels = labels_of(variable)
    return labels[int(value)] if labels else value
