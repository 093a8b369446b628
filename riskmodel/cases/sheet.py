"""Where findings about one sheet are gathered, in words that name row and column."""

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from riskmodel.errors import Finding, Severity


class Sheet:
    """One sheet being checked: its name, its row numbers as a spreadsheet counts them, and what was found so far."""

    def __init__(self, name: str, numbers: Sequence[int | None]) -> None:
        self.name = name
        self.numbers = numbers
        self.findings: list[Finding] = []

    def __len__(self) -> int:
        return len(self.numbers)

    def column(
        self, name: str | None, found: str, accepted: str, rule: str, severity: Severity = Severity.ERROR
    ) -> None:
        """Something about a whole column, or about the sheet."""
        self.findings.append(Finding(self.name, None, name, found, accepted, severity, rule))

    def cell(
        self, row: int, name: str, found: str, accepted: str, rule: str, severity: Severity = Severity.ERROR
    ) -> None:
        """Something about one cell; `row` counts from 0. A cell's text stands in `found` as `harmless` shows it."""
        self.findings.append(Finding(self.name, self.numbers[row], name, found, accepted, severity, rule))

    def sorted(self) -> tuple[Finding, ...]:
        """Findings about columns first, then by row."""
        return tuple(sorted(self.findings, key=lambda held: (held.row is not None, held.row or 0)))


def rows_where(mask: NDArray[np.bool_]) -> Iterable[int]:
    """Places of the rows that are marked, counted from 0."""
    return (int(row) for row in np.flatnonzero(mask))
