"""Everything that the report says, before it is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from riskmodel.cases.table import CaseTable
from riskmodel.errors import Finding
from training.cohort import Cohort
from training.outcome import OutcomeSummary, summarise
from training.protocol import Protocol
from training.report.checked.courses import Courses, Followed, courses, followed
from training.report.checked.missing import MissingMap, missing_map
from training.report.checked.split import by_centre, by_era
from training.report.checked.todo import Group, groups


@dataclass(frozen=True, slots=True)
class Looked:
    """What a cohort that can be used looks like."""

    outcome: OutcomeSummary
    flow: tuple[tuple[str, int], ...]
    whole: Courses
    centres: Courses | None
    eras: Courses | None
    followed: tuple[Followed, ...]


@dataclass(frozen=True, slots=True)
class Checked:
    """A check: findings by what to do, gaps, and (unless the cohort was refused) what became of the children.

    `file`: the name of the file that was read. `missing`: None when not even the table could be read.
    """

    file: str
    protocol: Protocol
    groups: tuple[Group, ...] = field(default_factory=tuple)
    missing: MissingMap | None = None
    looked: Looked | None = None

    @property
    def errors(self) -> int:
        """How many findings refuse the cohort."""
        return sum(group.errors for group in self.groups)


def summarise_check(
    file: str, protocol: Protocol, findings: Sequence[Finding], held: Cohort | CaseTable | None
) -> Checked:
    """The summary of a check.

    Parameters
    ----------
    file : name of the file
    findings : everything that was found
    held : the cohort; only its cases where it was refused; None where no table could be read
    """
    if isinstance(held, Cohort):
        parts = by_centre(held.centre)
        missing = missing_map(held.cases, held.dictionary, parts)
        return Checked(file, protocol, groups(findings), missing, _looked(held, protocol))
    if held is None or not len(held):
        return Checked(file, protocol, groups(findings))
    centre = protocol.cohort.centre
    parts = by_centre(held[centre] if centre is not None and centre in held else None)
    return Checked(file, protocol, groups(findings), missing_map(held, protocol.dictionary, parts))


def _looked(cohort: Cohort, protocol: Protocol) -> Looked:
    centres, eras = by_centre(cohort.centre), by_era(cohort.year)
    return Looked(
        outcome=summarise(cohort, protocol),
        flow=cohort.flow,
        whole=courses(cohort, protocol, ()),
        centres=courses(cohort, protocol, centres) if centres else None,
        eras=courses(cohort, protocol, eras) if eras else None,
        followed=followed(cohort),
    )
