"""Means and covariances as far as a bundle may tell them: as if worked out from counts rounded to multiples of 5.

Exact shares and covariances of indicators would give back the number of children in every cell of two indicators,
one and two children too, and by subtraction those whose level is not named.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import COUNT_STEP
from riskmodel.cases.table import Floats
from riskmodel.dictionary import Dictionary, Kind
from riskmodel.missing import Holds, Moments
from riskmodel.terms import Basis, Levels, Product, States, Term

# Of a number, a mean or covariance to this many decimals of its unit.
DECIMALS = 3
# Rounding can leave a covariance that no children have; its smallest eigenvalue is lifted to this.
LEAST_VARIANCE = 1e-3


def shown_children(facts: Mapping[str, Any]) -> int:
    """The rounded number of children that the facts of a cohort tell; at least 5."""
    return max(int(str(facts["children"]).rsplit(" ", 1)[-1]), COUNT_STEP)


def indicators(terms: Sequence[Term], dictionary: Dictionary) -> NDArray[np.bool_]:
    """(C,) which columns say whether something is so, in place of how much of it there is."""
    held = [(_indicates(term.basis, term.variables[0], dictionary), term.width) for term in terms]
    return np.array([kind for kind, width in held for _ in range(width)], dtype=bool)


def _indicates(basis: Basis, variable: str, dictionary: Dictionary) -> bool:
    if isinstance(basis, Product):
        return all(_indicates(part.basis, part.variable, dictionary) for part in basis.parts)
    return isinstance(basis, Levels | States) or dictionary.variables[variable].kind is Kind.YES_NO


def coarse_means(means: Floats, indicator: NDArray[np.bool_], children: int) -> Floats:
    """(C,) means; those of indicators as rounded counts over the rounded number of children."""
    return np.where(indicator, _rounded_share(means, children), np.round(means, DECIMALS))


def coarse_moments(moments: Moments, children: int) -> Moments:
    """The moments with every cell of one or two indicators rounded to a multiple of 5.

    Two indicators that fewer than 5 children carry together are taken to have nothing to do with each other: to call
    such a cell empty would say more, and would bend every completion.
    """
    indicator = np.concatenate(
        [np.full(block.width, block.holds is not Holds.NUMBER) for block in moments.blocks] or [np.zeros(0, dtype=bool)]
    )
    mean = coarse_means(moments.mean, indicator, children)
    joint = moments.covariance + np.outer(moments.mean, moments.mean)
    tellable = joint * children > COUNT_STEP - 0.5
    told = np.where(tellable, _rounded_share(joint, children) - np.outer(mean, mean), 0.0)
    apart = _same_block(moments) & ~tellable
    told = np.where(apart, -np.outer(mean, mean), told)
    both = np.outer(indicator, indicator)
    covariance = np.where(both, told, np.round(moments.covariance, DECIMALS))
    np.fill_diagonal(covariance, np.where(indicator, mean * (1.0 - mean), np.diagonal(covariance)))
    return replace(moments, mean=mean, covariance=_positive(covariance))


def _rounded_share(share: Floats, children: int) -> Floats:
    rounded: Floats = np.round(np.maximum(share, 0.0) * children / COUNT_STEP) * COUNT_STEP / children
    return rounded


def _same_block(moments: Moments) -> NDArray[np.bool_]:
    """(d, d) pairs of levels of one variable: no child has both, and to say so tells nothing."""
    number = np.concatenate([np.full(block.width, b) for b, block in enumerate(moments.blocks)] or [np.zeros(0)])
    same: NDArray[np.bool_] = number[:, None] == number[None, :]
    return same


def _positive(covariance: Floats) -> Floats:
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2.0)
    lifted: Floats = (vectors * np.maximum(values, LEAST_VARIANCE)) @ vectors.T
    return (lifted + lifted.T) / 2.0
