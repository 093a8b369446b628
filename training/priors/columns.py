"""From priors of terms to the means and SDs of a model's columns."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.dictionary.model import Dictionary, Variable
from riskmodel.dictionary.names import suggestion
from riskmodel.errors import Finding, PriorsRefused, Severity, refuse_errors
from riskmodel.terms import Basis, Linear, Product, Spline, States, Term
from training.posterior import ColumnPriors
from training.priors.model import BASE, Prior
from training.priors.read import is_library, parse
from training.protocol import Protocol


@dataclass(frozen=True, slots=True)
class Belief:
    """What was held of one column: mean and SD for one step of the column, and the entry that says so.

    A flat or learned SD is no belief: `sd` is the one that the file writes, whether the fit keeps it or not.
    """

    mean: float
    sd: float
    entry: Prior


def column_priors(
    protocol: Protocol, dictionary: Dictionary, terms: Sequence[Term], block: NDArray[np.int8]
) -> ColumnPriors:
    """Prior means and SDs of the C columns of the terms; the SD of a column without a sourced prior is learned.

    Parameters
    ----------
    protocol : gives the priors file's document and the outcome
    dictionary : the cohort's, derived variables in it: a prior per unit is per unit of this dictionary
    terms : all terms, C columns together
    block : (C,) which scale a column shares

    Raises
    ------
    PriorsRefused
        When the file is malformed, or speaks of a term or column that the protocol does not have (unless the file
        says `library = true`).
    """
    if protocol.priors is None:
        return ColumnPriors.flat_means(block)
    held = beliefs(protocol, dictionary, terms)
    base = base_belief(protocol)
    return ColumnPriors(
        np.array([0.0 if belief is None else belief.mean for belief in held]),
        np.array([belief.sd if belief is not None and belief.entry.keeps_sd else np.nan for belief in held]),
        block,
        *(() if base is None else (base.mean, base.sd)),
    )


def beliefs(protocol: Protocol, dictionary: Dictionary, terms: Sequence[Term]) -> tuple[Belief | None, ...]:
    """What the priors file holds of each of the C columns; None where it holds nothing.

    Raises
    ------
    PriorsRefused
        As `column_priors`.
    """
    columns = [(term, name) for term in terms for name in term.basis.names]
    if protocol.priors is None:
        return (None,) * len(columns)
    priors = _entries(protocol)
    if not is_library(protocol.priors):
        refuse_errors(_strangers(priors, terms, protocol.fit.priors or "priors"), PriorsRefused)
    held = {(prior.term, prior.column): prior for prior in priors}
    return tuple(_belief(held, term, name, dictionary) for term, name in columns)


def base_belief(protocol: Protocol) -> Prior | None:
    """What the priors file holds of the base, the log-odds with every column at its mean."""
    entries = () if protocol.priors is None else _entries(protocol)
    return next((prior for prior in entries if prior.term == BASE), None)


def _entries(protocol: Protocol) -> tuple[Prior, ...]:
    return parse(protocol.priors or {}, protocol.outcome.name, sheet=protocol.fit.priors or "priors")


def term_key(term: Term) -> str:
    """The name by which a priors file speaks of a term: states are columns of their variable."""
    return term.variables[0] if isinstance(term.basis, States) else term.name


def _belief(
    held: dict[tuple[str, str | None], Prior], term: Term, column: str, dictionary: Dictionary
) -> Belief | None:
    entry = held.get((term_key(term), column or None)) or (
        held.get((term.name, None)) if _shares(term, column) else None
    )
    if entry is None:
        return None
    ratio = _units(term, dictionary)
    return Belief(entry.mean * ratio, entry.sd * ratio, entry)


def _shares(term: Term, column: str) -> bool:
    """Whether an entry for the whole term speaks for this column."""
    if isinstance(term.basis, Spline):
        return column == term.basis.names[0]
    return not isinstance(term.basis, States)


def _units(term: Term, dictionary: Dictionary) -> float:
    """How many of the dictionary's units one step of the column is; not 1 where the protocol names another scale."""
    if isinstance(term.basis, Product):
        steps = [_step(part.basis, dictionary.variables[part.variable]) for part in term.basis.parts]
        return float(np.prod(steps))
    return _step(term.basis, dictionary.variables[term.variables[0]])


def _step(basis: Basis, variable: Variable) -> float:
    if isinstance(basis, Linear):
        return basis.scale / (1.0 if basis.log2 else variable.scale)
    return basis.scale / variable.scale if isinstance(basis, Spline) else 1.0


def _strangers(priors: Sequence[Prior], terms: Sequence[Term], sheet: str) -> Iterator[Finding]:
    """Entries that no column of the model answers to."""
    columns: dict[str, set[str]] = {BASE: set()}
    for term in terms:
        columns.setdefault(term_key(term), set()).update(filter(None, term.basis.names))
    for prior in priors:
        if prior.term not in columns:
            accepted = suggestion(prior.term, columns)
            yield Finding(sheet, None, "term", prior.term, accepted, Severity.ERROR, "unknown_term")
        elif prior.column is not None and prior.column not in columns[prior.term]:
            accepted = suggestion(prior.column, columns[prior.term])
            found = f"{prior.column} of {prior.term}"
            yield Finding(sheet, None, "column", found, accepted, Severity.ERROR, "unknown_column")
