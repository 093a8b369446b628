"""What all centres must have in common before anything is summed: the protocol, and what follows from it alone."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from riskmodel import derive
from riskmodel.bundle.canonical import canonical
from riskmodel.cases.table import CaseTable
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding, SharesRefused, refuse_errors
from riskmodel.missing import Moments, balanced_normals
from riskmodel.model import Recipe
from riskmodel.terms import Term
from training.candidates import KNOWN, SumOfTerms
from training.cohort import Cohort, course
from training.features import Declared
from training.features.build import terms
from training.posterior import ColumnPriors
from training.priors import column_priors
from training.protocol import Form, Protocol
from training.sharing.files import finding
from training.sharing.model import Frozen


def digest_of(protocol: Protocol) -> str:
    """SHA-256 of everything fixed beforehand: the protocol as written, its priors and its dictionary."""
    whole = {"protocol": protocol.document, "priors": protocol.priors, "dictionary": protocol.dictionary.digest}
    return hashlib.sha256(canonical(whole)).hexdigest()


def refuse_unfit(protocol: Protocol) -> None:
    """Refuse a protocol that leaves to the cohort what all centres must do alike.

    Raises
    ------
    SharesRefused
        With every finding at once.
    """
    refuse_errors(_unfit(protocol), SharesRefused)


def _unfit(protocol: Protocol) -> Iterator[Finding]:
    for predictor in protocol.predictors:
        if predictor.form is Form.SPLINE and not predictor.knots:
            found = f"a spline of {predictor.variable} whose knots each cohort would choose"
            yield finding(protocol.name, found, "knots = [...] in the protocol", "no_knots")
    if not isinstance(KNOWN.get(protocol.fit.choose, lambda _: None)(protocol), SumOfTerms):
        found = f"choose = {protocol.fit.choose}"
        yield finding(protocol.name, found, "penalised or rate, which are fitted from sums", "no_sum")
    if protocol.fit.centre_sd is not None:
        accepted = "no centre_sd: every centre is left out in turn instead"
        yield finding(protocol.name, "effects of centres", accepted, "centre_effects")


@dataclass(frozen=True, slots=True)
class Common:
    """What follows from the protocol alone: dictionary with derived variables, terms, priors of the C columns."""

    dictionary: Dictionary
    terms: tuple[Term, ...]
    priors: ColumnPriors
    uses_terms: bool


def common(protocol: Protocol) -> Common:
    """Terms and priors, the same wherever they are made."""
    made = derive.describe(protocol.derive, protocol.dictionary)
    words = replace(protocol.dictionary, variables=MappingProxyType({**protocol.dictionary.variables, **made}))
    nobody = Cohort(CaseTable((), {}), course(np.empty(0, dtype=np.int8)), words)
    built, block = terms(nobody, protocol)
    return Common(words, built, column_priors(protocol, words, built, block), protocol.fit.choose != "rate")


def declared(protocol: Protocol, held: Common, frozen: Frozen) -> Declared:
    """The design that every centre uses."""
    blocks = frozen.blocks
    moments = Moments(blocks, frozen.mean, frozen.covariance, np.empty((0, len(blocks))), balanced_normals(len(blocks)))
    recipe = Recipe(held.terms, protocol.derive, held.dictionary, moments)
    return Declared(recipe, held.priors, learned(frozen), has_holes=True)


def learned(frozen: Frozen) -> NDArray[np.bool_]:
    """(C,) columns whose coefficients are learned."""
    return np.array(frozen.learned, dtype=np.bool_)
