"""The design of one sample: everything about the predictors that is learned anew in each replay."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.missing import coordinates
from riskmodel.model import Recipe
from training import moments
from training.cohort import Cohort
from training.features.declare import Declared, declare
from training.posterior import ColumnPriors
from training.protocol import Protocol


@dataclass(frozen=True, slots=True)
class Design:
    """`recipe` with this sample's moments; `columns` (n, C) of the cohort's n children, in the sample or not.

    `column_means` (C,) plain means over the children of the sample, 0 for a column that is not learned; `priors` of
    the C coefficients; `learned` (C,) whether a coefficient is learned from data, else it keeps its prior.
    `centres` (n, J) indicators of the centres, J = 0 unless the protocol lets centres differ, with effects of SD
    `centre_sd` about 0: they take part in the fit and not in the sum, so that the sum is for a centre like the average.
    """

    recipe: Recipe
    columns: Floats
    column_means: Floats
    priors: ColumnPriors
    learned: NDArray[np.bool_]
    centres: Floats
    centre_sd: float


def learn(
    cohort: Cohort, protocol: Protocol, *, counts: Floats | None = None, declared: Declared | None = None
) -> Design:
    """Learn the design of a sample of the cohort.

    Parameters
    ----------
    counts
        (n,) how often each child is in the sample; None for the cohort itself.
    declared
        What was decided on the original cohort; decided here when it is not given.
    """
    declared = declare(cohort, protocol) if declared is None else declared
    recipe = declared.recipe
    if counts is not None and declared.has_holes:
        recipe = _with_moments(cohort, declared, counts)
    columns = recipe.expected(cohort.cases)
    present = np.ones(len(cohort)) if counts is None else counts
    # A mean would tell how many children carry a column that nothing may be learned from.
    means = np.where(declared.learned, present @ columns / present.sum(), 0.0)
    centres = _centres(cohort, protocol)
    return Design(recipe, columns, means, declared.priors, declared.learned, centres, protocol.fit.centre_sd or 0.0)


def _centres(cohort: Cohort, protocol: Protocol) -> Floats:
    if protocol.fit.centre_sd is None or cohort.centre is None:
        return np.empty((len(cohort), 0))
    codes = np.unique(cohort.centre.values[cohort.centre.present])
    marks: Floats = (cohort.centre.values[:, None] == codes).astype(np.float64)
    return marks


def _with_moments(cohort: Cohort, declared: Declared, counts: Floats) -> Recipe:
    held = coordinates(cohort.cases, declared.recipe.moments.blocks)
    gaussian = moments.learn(held, counts, start=declared.start)
    filled = replace(declared.recipe.moments, mean=gaussian.mean, covariance=gaussian.covariance)
    return replace(declared.recipe, moments=filled)
