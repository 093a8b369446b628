"""Where findings about a map are gathered."""

from dataclasses import dataclass, field

from riskmodel.errors import Finding, Severity


@dataclass
class Report:
    """Findings about the map of this file name."""

    name: str
    findings: list[Finding] = field(default_factory=list)

    def fault(self, place: str | None, found: str, accepted: str, rule: str) -> None:
        """Add an error about a place of the map."""
        self.findings.append(Finding(self.name, None, place, found, accepted, Severity.ERROR, rule))
