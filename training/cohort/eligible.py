"""Who is eligible: the flow of exclusions, one condition after the other."""

from dataclasses import replace

import numpy as np

from riskmodel import eligibility
from riskmodel.eligibility import Requirement
from riskmodel.errors import CasesRefused, Finding, Severity
from training.cohort.model import Cohort


def eligible(cohort: Cohort, requirements: tuple[Requirement, ...]) -> Cohort:
    """The children that meet every requirement, with the flow of those left out.

    A child of whom a requirement is not known is left out too, and counted apart.

    Raises
    ------
    CasesRefused
        When nobody is left.
    """
    kept = np.ones(len(cohort), dtype=np.bool_)
    flow: list[tuple[str, int]] = []
    for requirement in requirements:
        passed, absent = eligibility.meets_one(cohort.cases, requirement, cohort.dictionary)
        asked = eligibility.words([requirement], cohort.dictionary)
        flow.append((f"does not meet: {asked}", int(np.count_nonzero(kept & ~passed & ~absent))))
        flow.append((f"not known whether: {asked}", int(np.count_nonzero(kept & absent))))
        kept &= passed
    if not kept.any():
        found = f"none of {len(cohort)} children eligible"
        accepted = "children who meet: " + eligibility.words(requirements, cohort.dictionary)
        raise CasesRefused([Finding("", None, None, found, accepted, Severity.ERROR, "nobody_eligible")])
    return replace(cohort.take(kept), flow=tuple((reason, count) for reason, count in flow if count))
