"""The design of one sample: everything about the predictors that is learned anew in each replay."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import CaseTable, Floats
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

    @property
    def columns_learned(self) -> int:
        """How many coefficients are learned from data."""
        return int(np.count_nonzero(self.learned))


@dataclass(frozen=True, slots=True)
class Prepared:
    """What the designs of all samples of one cohort share, made once.

    `columns` (n, C), right for the children who lack nothing; `lacking` (n,) who does not, and `gaps`, their cases;
    `coordinates` (n, d) of what moments are learned from; `centres` and `centre_sd` as in a design.
    """

    declared: Declared
    columns: Floats
    lacking: NDArray[np.bool_]
    gaps: CaseTable
    coordinates: Floats
    centres: Floats
    centre_sd: float

    def design(self, counts: Floats | None = None) -> Design:
        """Learn the design of the sample in which child i is `counts[i]` times; None for the cohort itself."""
        declared = self.declared
        recipe = declared.recipe if counts is None or not declared.has_holes else self._with_moments(counts)
        columns = self.columns.copy()
        columns[self.lacking] = recipe.expected(self.gaps)
        present = np.ones(len(columns)) if counts is None else counts
        # A mean would tell how many children carry a column that nothing may be learned from.
        means = np.where(declared.learned, present @ columns / present.sum(), 0.0)
        return Design(recipe, columns, means, declared.priors, declared.learned, self.centres, self.centre_sd)

    def _with_moments(self, counts: Floats) -> Recipe:
        recipe = self.declared.recipe
        gaussian = moments.learn(self.coordinates, counts, start=self.declared.start)
        filled = replace(recipe.moments, mean=gaussian.mean, covariance=gaussian.covariance)
        return replace(recipe, moments=filled)


def prepare(cohort: Cohort, protocol: Protocol, declared: Declared) -> Prepared:
    """Make what the designs of all samples of this cohort share."""
    recipe = declared.recipe
    lacking = recipe.holes(cohort.cases)
    columns = np.zeros((len(cohort), recipe.width))
    columns[~lacking] = recipe.expected(cohort.cases.take(~lacking))
    return Prepared(
        declared=declared,
        columns=columns,
        lacking=lacking,
        gaps=cohort.cases.take(lacking),
        coordinates=coordinates(cohort.cases, recipe.moments.blocks),
        centres=_centres(cohort, protocol),
        centre_sd=protocol.fit.centre_sd or 0.0,
    )


def learn(
    cohort: Cohort, protocol: Protocol, *, counts: Floats | None = None, declared: Declared | None = None
) -> Design:
    """Learn the design of a sample of the cohort; for many samples of one cohort `prepare` once.

    Parameters
    ----------
    counts
        (n,) how often each child is in the sample; None for the cohort itself.
    declared
        What was decided on the original cohort; decided here when it is not given.
    """
    return prepare(cohort, protocol, declare(cohort, protocol) if declared is None else declared).design(counts)


def _centres(cohort: Cohort, protocol: Protocol) -> Floats:
    if protocol.fit.centre_sd is None or cohort.centre is None:
        return np.empty((len(cohort), 0))
    codes = np.unique(cohort.centre.values[cohort.centre.present])
    marks: Floats = (cohort.centre.values[:, None] == codes).astype(np.float64)
    return marks
