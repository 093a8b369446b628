"""What can go wrong, as one tree: every error that a person may meet derives from `RiskmodelError`.

The command line turns a `RiskmodelError` into exit status 1 and one clear line (or one line per finding).
Anything else that escapes is an internal fault (exit status 3).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """How much a finding matters: an error refuses the whole input, a warning is printed and passes."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found in an input, said so that the reader can go and mend it.

    `row` is the row of the sheet as a spreadsheet counts it (1 = the first line of the file), or None when the
    finding is about the whole sheet. `found` is what stood there, `accepted` what would be accepted, with its unit.
    `rule` is a short fixed name of the check, in snake_case, for grouping.
    """

    sheet: str
    row: int | None
    column: str | None
    found: str
    accepted: str
    severity: Severity
    rule: str

    def __str__(self) -> str:
        place = [self.sheet] if self.sheet else []
        if self.row is not None:
            place.append(f"row {self.row}")
        if self.column is not None:
            place.append(f"column {self.column}")
        where = ", ".join(place)
        text = f"found {self.found}; accepted: {self.accepted}"
        return f"{self.severity.value}: {where}: {text}" if where else f"{self.severity.value}: {text}"


class RiskmodelError(Exception):
    """Root of every error that is the input's fault, not the program's."""


class Refused(RiskmodelError):
    """An input was refused; `findings` says everything that is wrong with it, not only the first thing."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(str(finding) for finding in self.findings))


class TableRefused(Refused):
    """A file could not be read as a table."""


class DictionaryRefused(Refused):
    """A data dictionary contradicts itself or its format."""


class CasesRefused(Refused):
    """Rows of cases, or a single case, hold something that cannot be true or cannot be read."""


class ProtocolRefused(Refused):
    """A protocol asks for something that is unknown, impossible, or known only too late."""


class PriorsRefused(Refused):
    """A priors file is malformed or speaks of a term that the protocol does not have."""


class PlanRefused(Refused):
    """A plan, stock or limits file cannot be read."""


class SharesRefused(Refused):
    """Files of a fit over several centres are damaged, or do not belong together."""


class OutcomeRefused(RiskmodelError):
    """The cohort cannot tell the outcome at the horizon: too few events, too little follow-up."""


class FitRefused(RiskmodelError):
    """The model cannot be fitted to this cohort as asked (separation, nothing to learn from)."""


class BundleError(RiskmodelError):
    """A bundle is damaged, altered, of another format, or not a bundle."""


class DocumentRefused(RiskmodelError):
    """A document cannot be written as asked."""


def refuse_errors(findings: Iterable[Finding], kind: type[Refused]) -> tuple[Finding, ...]:
    """Return the findings when none is an error; otherwise raise `kind` with all of them.

    Raises
    ------
    Refused
        `kind`, when at least one finding has severity error.
    """
    findings = tuple(findings)
    if any(finding.severity is Severity.ERROR for finding in findings):
        raise kind(findings)
    return findings
