"""From what was typed to answers, or to everything that stands in their way."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from riskmodel import cases as doors
from riskmodel.cases.identifiers import in_key
from riskmodel.dictionary.model import Role
from riskmodel.dictionary.roles import holder
from riskmodel.errors import Finding, Severity
from riskmodel.scoring import RiskEstimate, Scorer
from riskmodel.web.models import Models

Typed = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Assessment:
    """What the models say of a child on a day; `estimates` is empty while something is invalid or nothing is known.

    `faults` make the values unusable; `doubts` are values that may be true but have to be confirmed. `lacking`: for
    each model the labels of what it asks for and does not know; `measured`: whether the estimates also say what
    measuring that would buy.
    """

    on: date
    faults: tuple[Finding, ...] = ()
    doubts: tuple[Finding, ...] = ()
    estimates: tuple[RiskEstimate, ...] = ()
    lacking: tuple[tuple[str, ...], ...] = ()
    measured: bool = True


def assess(models: Models, case_id: str, values: Typed, *, on: date, measuring: bool = True) -> Assessment:
    """Check the typed values of one child and score them with every model."""
    pointing = in_key(case_id) if case_id else None
    key = "case" if pointing else case_id
    table, findings = doors.check_mapping(values, models.dictionary, case_id=key)
    if pointing:
        findings = (_points_at_somebody(_column(models), pointing), *findings)
    faults, doubts = _sorted(findings)
    if faults or not any(name in values for name in models.needed):
        return Assessment(on, faults, doubts)
    # The dictionary of the form means the same as that of each model (`riskmodel.web.models`): one check serves all.
    derived = dict.fromkeys(finding for scorer in models.scorers for finding in scorer.contradictions(table))
    faults, more_doubts = _sorted(derived)
    doubts = (*doubts, *more_doubts)
    if faults:
        return Assessment(on, faults, doubts)
    estimates = tuple(scorer.score_table(table, on=on, measuring=measuring)[0] for scorer in models.scorers)
    lacking = tuple(_labels(scorer, scorer.lacking(table)) for scorer in models.scorers)
    return Assessment(on, faults, doubts, estimates, lacking, measuring or not any(lacking))


def _sorted(findings: Iterable[Finding]) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Findings that are errors, and those that are doubts."""
    held = tuple(findings)
    faults = tuple(finding for finding in held if finding.severity is Severity.ERROR)
    return faults, tuple(finding for finding in held if finding.severity is Severity.WARNING)


def _labels(scorer: Scorer, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(scorer.bundle.dictionary.variables[name].label for name in names)


def _column(models: Models) -> str:
    key = holder(models.dictionary, Role.KEY)
    return key.name if key else "case_id"


def _points_at_somebody(column: str, kind: str) -> Finding:
    found, accepted = f"a text that looks like {kind}", "a pseudonym: letters and digits that only you can resolve"
    return Finding("case", None, column, found, accepted, Severity.ERROR, "identifier")
