"""From a file to the summary of its check, also when it is refused."""

from collections.abc import Sequence
from pathlib import Path

from riskmodel import tables
from riskmodel.cases import CaseTable, check
from riskmodel.errors import Finding, Refused, RiskmodelError, Severity, TableRefused
from training import cohort as cohorts
from training.cohort import Cohort
from training.cohort.read import children
from training.features import declare
from training.outcome import at_horizon, check_enough
from training.protocol import Protocol
from training.report.checked.summary import Checked, summarise_check


def check_file(path: Path, protocol: Protocol) -> Checked:
    """Check a cohort and summarise what was found; a cohort that is refused is summarised as far as it was read."""
    try:
        held = cohorts.read(path, protocol)
    except Refused as refused:
        return summarise_check(path.name, protocol, refused.findings, _cases(path, protocol))
    findings: list[Finding] = list(held.findings)
    usable = _enough(held, protocol, findings)
    return summarise_check(path.name, protocol, findings, held if usable else held.cases)


def _enough(held: Cohort, protocol: Protocol, findings: list[Finding]) -> bool:
    """Whether the cohort can tell the outcome and carries the predictors; what speaks against it is added."""
    try:
        findings += check_enough(at_horizon(held, protocol))
        declare(held, protocol)
    except Refused as refused:
        findings += refused.findings
    except RiskmodelError as error:
        findings.append(_finding(error))
        return False
    return True


def _finding(error: RiskmodelError) -> Finding:
    return Finding("", None, None, str(error), "a cohort that can tell the outcome", Severity.ERROR, "few_events")


def _cases(path: Path, protocol: Protocol) -> CaseTable | None:
    """The cases of a refused cohort, cells with an error missing; None when there is no table of children."""
    try:
        held: Sequence[tables.RawTable] = tables.read(path)
        return check(children(held), protocol.dictionary)[0]
    except TableRefused:
        return None
