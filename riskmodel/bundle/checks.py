"""Do the parts of a bundle fit together? Shapes, names and ranges, before anything is computed from them."""

from collections.abc import Iterator

import numpy as np

from riskmodel.bundle.model import Bundle
from riskmodel.errors import BundleError
from riskmodel.missing import MEAN_DRAWS
from riskmodel.terms import Levels, Product, Spline


def check_shapes(bundle: Bundle) -> None:
    """Check every shape and cross-reference.

    Raises
    ------
    BundleError
        With everything that does not fit.
    """
    broken = [*_shapes(bundle), *_names(bundle), *_numbers(bundle)]
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
    known = bundle.dictionary.variables.keys() | {derivation.name for derivation in bundle.derive}
    used = {name for term in bundle.terms for name in term.variables}
    used |= {block.variable for block in bundle.moments.blocks} | {name for held in bundle.support for name in held.of}
    if strangers := sorted(used - known):
        yield f"variables that its dictionary does not have: {', '.join(strangers)}"
    for term in bundle.terms:
        yield from _basis(term.name, term.basis)
    widths = {term.name: term.width for term in bundle.terms}
    for held in bundle.stability:
        if held.columns.shape != (len(held.positive), widths.get(held.term, -1)):
            yield f"the stability of {held.term} must have one row for each share"


def _basis(name: str, basis: object) -> Iterator[str]:
    if isinstance(basis, Levels):
        members = {code for indicator in basis.indicators for code in indicator.members}
        if not members <= set(basis.codes):
            yield f"{name} has levels that its variable does not have"
    elif isinstance(basis, Spline):
        bends = len(basis.knots) - 2
        if bends < 1 or not len(basis.offset) == len(basis.slope) == len(basis.spread) == bends:
            yield f"{name} must have one offset, slope and spread for each knot but two"
    elif isinstance(basis, Product):
        if not basis.parts or any(len(part.basis.names) != 1 for part in basis.parts):
            yield f"{name} must be a product of single columns"
        for part in basis.parts:
            yield from _basis(name, part.basis)


def _numbers(bundle: Bundle) -> Iterator[str]:
    if not 0.0 < bundle.cohort_rate < 1.0:
        yield "cohort_rate must lie between 0 and 1"
    covariance = bundle.moments.covariance
    if covariance.size and not _positive_definite(covariance):
        yield "moments.covariance must be symmetric and positive definite"
    if bundle.review_by < bundle.released:
        yield "review_by must not lie before released"


def _positive_definite(covariance: np.ndarray) -> bool:
    try:
        np.linalg.cholesky(covariance)
    except np.linalg.LinAlgError:
        return False
    return bool(np.allclose(covariance, covariance.T, rtol=1e-8))
