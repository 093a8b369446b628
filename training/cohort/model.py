"""A cohort as read: baseline columns, and what became of each child."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.cases.table import CaseTable, Column, Floats
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding
from training.cohort.rows.readers import Readers

Rows = NDArray[np.intp] | NDArray[np.bool_]


class Status(IntEnum):
    """What is known of a child: how its course ended, or (in an `Outcome`) how it stands at the horizon."""

    FREE = 0
    EVENT = 1
    COMPETING = 2
    UNKNOWN = 3


@dataclass(frozen=True, slots=True)
class Course:
    """How each child's course ended, and when. Make it with `course`, which checks and locks the arrays.

    `status` (n,) int8: a `Status` each; FREE means still free of the outcome when last seen.
    `months` (n,): months from the operation to that end, 0 or more, NaN where the status is UNKNOWN; None for a plain
    yes/no outcome, which has no times.
    """

    status: NDArray[np.int8]
    months: Floats | None = None

    def __len__(self) -> int:
        return len(self.status)

    @property
    def known(self) -> NDArray[np.bool_]:
        """(n,) whether the status is known; an unknown status is a missing outcome, never a no."""
        return np.not_equal(self.status, Status.UNKNOWN)

    @property
    def timed(self) -> Floats:
        """(n,) the times in months.

        Raises
        ------
        ValueError
            For a plain yes/no outcome, which has none.
        """
        if self.months is None:
            raise ValueError("a plain yes/no outcome has no times; leave the horizon out")
        return self.months

    def take(self, rows: Rows) -> "Course":
        """The course of the chosen rows."""
        return course(self.status[rows], None if self.months is None else self.months[rows])


def course(status: ArrayLike, months: ArrayLike | None = None) -> Course:
    """Make a checked, read-only course; without `months` it is a plain yes/no outcome.

    Raises
    ------
    ValueError
        When lengths differ, a status is not one of 0 to 3, or a child of known status has no time.
    """
    marks = np.array(status, dtype=np.int8)
    if marks.ndim != 1 or not np.isin(marks, tuple(Status)).all():
        raise ValueError("a course needs one status per child, each of 0 to 3")
    marks.setflags(write=False)
    return Course(marks, None if months is None else _times(marks, np.array(months, dtype=np.float64)))


def _times(status: NDArray[np.int8], months: Floats) -> Floats:
    if months.shape != status.shape:
        raise ValueError(f"a course of {len(status)} children needs as many times, not {months.shape}")
    known = status != Status.UNKNOWN
    if not (np.isfinite(months[known]) & (months[known] >= 0)).all():
        raise ValueError("every child whose status is known needs a time of 0 months or more")
    months[~known] = np.nan
    months.setflags(write=False)
    return months


@dataclass(frozen=True, slots=True)
class Cohort:
    """n eligible children.

    `cases`: baseline columns, derived ones among them; `course`: what became of each child under the protocol's
    outcome; `centre` and `year`: the columns that the protocol names, or None. `flow`: reason and number of the
    children left out, in the order applied. `findings`: the warnings of reading. `dictionary`: the protocol's, with
    the derived variables added. `definitions`: the course under every outcome of the dictionary that the cohort can
    tell, the protocol's own among them; `made_of`: how many children had each event that the outcome is made of.
    `readers`: how far readers lie apart, for each predictor made of measurements that some children had read twice,
    over all children read, the ones left out among them.
    """

    cases: CaseTable
    course: Course
    dictionary: Dictionary
    centre: Column | None = None
    year: Column | None = None
    flow: tuple[tuple[str, int], ...] = ()
    findings: tuple[Finding, ...] = ()
    definitions: Mapping[str, Course] = field(default_factory=lambda: MappingProxyType({}))
    made_of: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    readers: Mapping[str, Readers] = field(default_factory=lambda: MappingProxyType({}))

    def __len__(self) -> int:
        return len(self.cases)

    def take(self, rows: Rows) -> "Cohort":
        """The chosen children; `flow`, `findings`, `made_of` and `readers` stay as they are."""
        return replace(
            self,
            cases=self.cases.take(rows),
            course=self.course.take(rows),
            centre=None if self.centre is None else self.centre.take(rows),
            year=None if self.year is None else self.year.take(rows),
            definitions={name: each.take(rows) for name, each in self.definitions.items()},
        )
