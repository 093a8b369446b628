"""From what was typed to answers, or to everything that stands in their way."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from riskmodel import cases as doors
from riskmodel.cases.identifiers import in_key
from riskmodel.dictionary.model import Role
from riskmodel.dictionary.roles import holder
from riskmodel.errors import Finding, Severity
from riskmodel.scoring import RiskEstimate
from riskmodel.web.models import Models

Typed = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Assessment:
    """What the models say of a child on a day; `estimates` is empty while something is invalid or nothing is known.

    `faults` make the values unusable; `doubts` are values that may be true but have to be confirmed.
    """

    on: date
    faults: tuple[Finding, ...] = ()
    doubts: tuple[Finding, ...] = ()
    estimates: tuple[RiskEstimate, ...] = ()


def assess(models: Models, case_id: str, values: Typed, *, on: date) -> Assessment:
    """Check the typed values of one child and score them with every model."""
    key = holder(models.dictionary, Role.KEY)
    column = key.name if key else "case_id"
    pointing = in_key(case_id) if case_id else None
    table, findings = doors.check_mapping(values, models.dictionary, case_id="case" if pointing else case_id)
    if pointing:
        findings = (_points_at_somebody(column, pointing), *findings)
    faults = tuple(held for held in findings if held.severity is Severity.ERROR)
    doubts = tuple(held for held in findings if held.severity is Severity.WARNING)
    if faults or not any(name in values for name in models.needed):
        return Assessment(on, faults, doubts)
    estimates = tuple(scorer.score_table(table, on=on)[0] for scorer in models.scorers)
    return Assessment(on, faults, doubts, estimates)


def _points_at_somebody(column: str, kind: str) -> Finding:
    found, accepted = f"a text that looks like {kind}", "a pseudonym: letters and digits that only you can resolve"
    return Finding("case", None, column, found, accepted, Severity.ERROR, "identifier")
