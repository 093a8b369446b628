"""Do the parts of a bundle fit together? Shapes, names, levels and ranges, before anything is computed from them."""

from collections.abc import Iterator, Mapping

import numpy as np

from riskmodel import derive
from riskmodel.bundle.model import Bundle
from riskmodel.dictionary.coding import EMPTY_WORDS, codes_of
from riskmodel.dictionary.model import Variable
from riskmodel.errors import BundleError
from riskmodel.missing import MEAN_DRAWS, Block, Holds
from riskmodel.terms import Levels, Product, Spline, States, Term


def check_parts(bundle: Bundle) -> None:
    """Hold every part against the others: shapes, and what one names of another.

    Raises
    ------
    BundleError
        With everything that does not fit.
    """
    broken = [*_shapes(bundle), *_names(bundle), *_levels(bundle), *_terms(bundle), *_numbers(bundle)]
    if broken:
        raise BundleError("the bundle does not fit together: " + "; ".join(broken))


def _shapes(bundle: Bundle) -> Iterator[str]:
    columns = sum(term.width for term in bundle.terms)
    moments = bundle.moments
    coordinates = sum(block.width for block in moments.blocks)
    draws = bundle.draws.shape[0] if bundle.draws.ndim == 2 else -1
    expected = {
        "coefficients": (bundle.coefficients, (columns,)),
        "column_means": (bundle.column_means, (columns,)),
        "draws": (bundle.draws, (draws, 1 + columns)),
        "moments.mean": (moments.mean, (coordinates,)),
        "moments.covariance": (moments.covariance, (coordinates, coordinates)),
        "moments.normals": (moments.normals, (draws, len(moments.blocks))),
        "moments.mean_normals": (moments.mean_normals, (MEAN_DRAWS, len(moments.blocks))),
    }
    for name, (held, shape) in expected.items():
        # An array without entries is written as [] whatever its shape was.
        if held.shape != shape and not (held.size == 0 and np.prod(shape) == 0):
            yield f"{name} must have shape {shape}, found {held.shape}"
    if draws < 100:
        yield f"draws must have at least 100 rows, found {draws}"


def _names(bundle: Bundle) -> Iterator[str]:
    if strangers := sorted(_used(bundle) - bundle.dictionary.variables.keys()):
        yield f"variables that its dictionary does not have: {', '.join(strangers)}"
    for finding in derive.problems(bundle.derive, bundle.dictionary):
        yield f"{finding.column} is {finding.found}, and must be {finding.accepted}"


def _used(bundle: Bundle) -> set[str]:
    """Names of variables that some part of the bundle speaks of."""
    names = {*bundle.ranges.numbers, *bundle.ranges.levels, *bundle.scored_at}
    names |= {name for term in bundle.terms for name in term.variables}
    names |= {block.variable for block in bundle.moments.blocks}
    names |= {name for held in bundle.support for name in held.of}
    names |= {requirement.variable for requirement in bundle.gates.only}
    return names | {derivation.name for derivation in bundle.derive}


def _levels(bundle: Bundle) -> Iterator[str]:
    """Levels that a part of the bundle names must be those of the variable."""
    known = bundle.dictionary.variables
    told = [*bundle.ranges.levels.items(), *((held.variable, held.one_of) for held in bundle.gates.only)]
    for name, codes in told:
        if name in known and not set(codes) <= set(codes_of(known[name])):
            yield f"{name} must have the levels that are named: {', '.join(codes)}"
    for name in dict.fromkeys(name for held in bundle.support for name in held.of):
        if name in known and not codes_of(known[name]):
            yield f"{name}, by which like cases are counted, must have levels"
    for block in bundle.moments.blocks:
        if not _holds_its_words(block):
            yield f"the moments of {block.variable} must name words that they list"


def _holds_its_words(block: Block) -> bool:
    if block.holds is Holds.LEVEL:
        return {*block.names, block.rest} <= {*block.codes}
    return {*block.names} <= {*block.codes} <= {*EMPTY_WORDS}


def _terms(bundle: Bundle) -> Iterator[str]:
    for term in bundle.terms:
        yield from _term(term, bundle.dictionary.variables)
    widths = {term.name: term.width for term in bundle.terms}
    for held in bundle.stability:
        if held.columns.shape != (len(held.positive), widths.get(held.term, -1)):
            yield f"the stability of {held.term} must have one row for each share"


def _term(term: Term, known: Mapping[str, Variable]) -> Iterator[str]:
    """A product reads the variables of its parts, any other term one variable."""
    basis = term.basis
    if isinstance(basis, Product):
        if not basis.parts or any(len(part.basis.names) != 1 for part in basis.parts):
            yield f"{term.name} must be a product of single columns"
        parts: list[tuple[str, object]] = [(part.variable, part.basis) for part in basis.parts]
        fits = {variable for variable, _ in parts} == {*term.variables}
    else:
        parts = [(variable, basis) for variable in term.variables]
        fits = len(parts) == 1
    if not fits:
        yield f"{term.name} must read the variables of its columns"
    for variable, part in parts:
        yield from _basis(term.name, part, known.get(variable))


def _basis(name: str, basis: object, variable: Variable | None) -> Iterator[str]:
    """`variable`: what it reads; None where the dictionary has none of that name."""
    if isinstance(basis, Levels):
        members = {code for indicator in basis.indicators for code in indicator.members}
        if not members <= set(basis.codes) or (variable is not None and basis.codes != variable.codes):
            yield f"{name} has levels that its variable does not have"
    elif isinstance(basis, Spline):
        bends = len(basis.knots) - 2
        if bends < 1 or not len(basis.offset) == len(basis.slope) == len(basis.spread) == bends:
            yield f"{name} must have one offset, slope and spread for each knot but two"
    elif isinstance(basis, States) and not {*basis.states} <= {*EMPTY_WORDS}:
        yield f"{name} must speak of {', '.join(EMPTY_WORDS)} only"


def _numbers(bundle: Bundle) -> Iterator[str]:
    if not 0.0 < bundle.cohort_rate < 1.0:
        yield f"cohort_rate must lie between 0 and 1, found {bundle.cohort_rate:g}"
    covariance = bundle.moments.covariance
    if covariance.size and not _positive_definite(covariance):
        yield "moments.covariance must be symmetric and positive definite"
    if bundle.review_by < bundle.released:
        yield f"review_by must not lie before released, found {bundle.review_by} before {bundle.released}"


def _positive_definite(covariance: np.ndarray) -> bool:
    try:
        np.linalg.cholesky(covariance)
    except np.linalg.LinAlgError:
        return False
    return bool(np.allclose(covariance, covariance.T, rtol=1e-8))
