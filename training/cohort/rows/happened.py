"""What a further table says happened to each child, held against the columns of the children's table."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.ends import NO, YES
from riskmodel.cases.table import Column, Floats, column
from riskmodel.dictionary.expand import STATUS_LEVELS
from riskmodel.errors import Finding, Severity
from training.cohort.rows.told import Told, disagreement

SAME_MONTHS = 0.5


@dataclass(frozen=True, slots=True)
class Happened:
    """One event or outcome of n children as a further table tells it.

    `months` (n,): NaN where it did not happen. `rows` (n,): the row of the sheet that says so, 0 where none does.
    `ruled_out` (n,): whether the table itself shows that it did not happen.
    """

    name: str
    sheet: str
    months: Floats
    rows: NDArray[np.intp]
    ruled_out: NDArray[np.bool_]

    @property
    def happened(self) -> NDArray[np.bool_]:
        """(n,) whether it did."""
        return ~np.isnan(self.months)


def against(made: Happened, status: Told, months: Column, *, whole: bool) -> Iterator[Finding]:
    """A finding for each child of whom the children's table says something else.

    Parameters
    ----------
    status, months : the columns of the children's table
    whole : the table holds all that happened, so that what it lacks is an error and not a warning
    """
    told, values = status.column, status.column.values
    for child in np.flatnonzero(made.happened & told.present).tolist():
        row = int(status.rows[child])
        if values[child] != YES:
            found = f"{made.name}, but row {row} of {status.sheet} says {STATUS_LEVELS[int(values[child])].code}"
            yield disagreement(_told(made, told), child, made.name, found)
        elif abs(months.values[child] - made.months[child]) > SAME_MONTHS:
            found = f"{made.months[child]:.1f} months, but row {row} of {status.sheet} says {months.values[child]:.1f}"
            yield disagreement(_told(made, told), child, made.name, found)
    lacking = ~made.happened & (values == YES)
    severity = Severity.ERROR if whole else Severity.WARNING
    for child in np.flatnonzero(lacking).tolist():
        word = "says that it did not happen" if made.ruled_out[child] else "has no row of it"
        yield disagreement(status, child, made.name, f"yes, but the table {made.sheet} {word}", severity)


def merged(made: Happened, status: Column, months: Column, without: Floats) -> tuple[Column, Column]:
    """Status and months with the further table's word first, then the children's table's, then `without`.

    `without` (n,): what a child is of whom neither says anything, NaN for missing; a no where the table rules it out.
    """
    rest = np.where(made.ruled_out, NO, without)
    values = np.where(made.happened, YES, np.where(status.present, status.values, rest))
    times = np.where(months.present, months.values, made.months)
    return column(values), column(np.where(values == YES, times, np.nan))


def _told(made: Happened, like: Column) -> Told:
    return Told(made.sheet, like, made.rows)
