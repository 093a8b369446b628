"""What is written down while a registry is tidied: what cannot be read, and what was changed."""

from dataclasses import dataclass, field

from riskmodel.cases.identifiers import harmless
from riskmodel.errors import Finding, Severity
from training.registry.reading.doubt import Doubt

HIDDEN = "(not shown)"


@dataclass(frozen=True, slots=True)
class Place:
    """A cell of the registry, with the text that stands in it; None when that may not be shown."""

    sheet: str
    row: int | None = None
    column: str | None = None
    text: str | None = None

    @property
    def shown(self) -> str:
        """The cell's text, as far as it may leave the registry."""
        return HIDDEN if self.text is None else self.text


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the change list."""

    sheet: str
    row: int | None
    column: str | None
    was: str
    became: str
    rule: str


@dataclass
class Notes:
    """Findings and changes so far."""

    findings: list[Finding] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)

    def doubt(self, place: Place, doubt: Doubt) -> None:
        """A cell that was not read."""
        self.fault(place, harmless(place.shown) if place.text else place.shown, doubt.accepted, doubt.rule)

    def fault(self, place: Place, found: str, accepted: str, rule: str, severity: Severity = Severity.ERROR) -> None:
        """Anything else that was found."""
        self.findings.append(Finding(place.sheet, place.row, place.column, found, accepted, severity, rule))

    def warn(self, place: Place, found: str, accepted: str, rule: str) -> None:
        """Something that passes, and is said."""
        self.fault(place, found, accepted, rule, Severity.WARNING)

    def change(self, place: Place, became: str, rule: str) -> None:
        """A cell that stands otherwise in the cohort."""
        self.changes.append(Change(place.sheet, place.row, place.column, harmless(place.shown), became, rule))
