"""From priors of terms to the means and SDs of a model's columns."""

from collections.abc import Iterator, Sequence

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
    priors = parse(protocol.priors, protocol.outcome.name, sheet=protocol.fit.priors or "priors")
    if not is_library(protocol.priors):
        refuse_errors(_strangers(priors, terms, protocol.fit.priors or "priors"), PriorsRefused)
    held = {(prior.term, prior.column): prior for prior in priors}
    pairs = [_normal(held, term, name, dictionary) for term in terms for name in term.basis.names]
    base = held.get((BASE, None))
    return ColumnPriors(
        np.array([mean for mean, _ in pairs]),
        np.array([sd for _, sd in pairs]),
        block,
        *(() if base is None else (base.mean, base.sd)),
    )


def term_key(term: Term) -> str:
    """The name by which a priors file speaks of a term: states are columns of their variable."""
    return term.variables[0] if isinstance(term.basis, States) else term.name


def _normal(
    held: dict[tuple[str, str | None], Prior], term: Term, column: str, dictionary: Dictionary
) -> tuple[float, float]:
    """Mean and SD of one column; (0, NaN) where nothing is held, SD NaN where it is to be learned."""
    prior = held.get((term_key(term), column or None)) or (
        held.get((term.name, None)) if _shares(term, column) else None
    )
    if prior is None:
        return 0.0, np.nan
    ratio = _units(term, dictionary)
    return prior.mean * ratio, prior.sd * ratio if prior.keeps_sd else np.nan


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
