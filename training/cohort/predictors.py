"""Predictors that the eligible children cannot tell apart."""

from collections.abc import Iterator

import numpy as np

from riskmodel.errors import Finding, Severity
from training.cohort.model import Cohort
from training.protocol import Protocol


def look_at_predictors(cohort: Cohort, protocol: Protocol, sheet: str) -> Iterator[Finding]:
    """A finding for each predictor without any value (an error), or with the same value in every child (a warning)."""
    factors = (factor.variable for interaction in protocol.interactions for factor in interaction.of)
    for name in dict.fromkeys((*(predictor.variable for predictor in protocol.predictors), *factors)):
        held = cohort.cases[name]
        values = held.values[held.present]
        if not len(values):
            found = f"no value in any of {len(cohort)} eligible children"
            yield Finding(sheet, None, name, found, "a predictor with values", Severity.ERROR, "no_value")
        elif held.present.all() and len(np.unique(values)) == 1 and len(cohort) > 1:
            found = f"the same value in all {len(cohort)} eligible children"
            accepted = "values that differ: this predictor can tell nothing"
            yield Finding(sheet, None, name, found, accepted, Severity.WARNING, "constant_column")
