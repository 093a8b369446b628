"""How much is missing, by variable and centre, in five steps."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from riskmodel.cases.table import CaseTable, Column
from riskmodel.dictionary.model import Dictionary, Kind, Role, Variable
from training.report.checked.split import Part

ALL = "all"


class Share(IntEnum):
    """A share of children, in steps so wide that no small count can be read off."""

    HARDLY_ANY = 0
    SOME = 1
    MANY = 2
    MOST = 3
    NEARLY_ALL = 4

    @property
    def words(self) -> str:
        """The step in words, of 100 children."""
        return _WORDS[self]


_BOUNDS = (0.05, 0.25, 0.5, 0.95)
_WORDS = {
    Share.HARDLY_ANY: "up to 5",
    Share.SOME: "5 to 25",
    Share.MANY: "25 to 50",
    Share.MOST: "50 to 95",
    Share.NEARLY_ALL: "over 95",
}


@dataclass(frozen=True, slots=True)
class Gap:
    """A variable and how much of it is missing, over all children and in each part."""

    name: str
    label: str
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class MissingMap:
    """Gaps by variable and part of the cohort.

    `parts`: the columns, all children first. `gaps`: variables with a gap, the widest first. `complete`: labels of the
    variables of which hardly any value is missing anywhere.
    """

    parts: tuple[str, ...]
    gaps: tuple[Gap, ...]
    complete: tuple[str, ...]


def share_of(part: float) -> Share:
    """The step that a share from 0 to 1 lies in.

    >>> share_of(0.05), share_of(0.3)
    (<Share.HARDLY_ANY: 0>, <Share.MANY: 2>)
    """
    return Share(int(np.searchsorted(_BOUNDS, part, side="left")))


def missing_map(cases: CaseTable, dictionary: Dictionary, parts: Sequence[Part]) -> MissingMap:
    """What is simply missing; a state such as not measurable is an answer, and counts as there."""
    named = {name: held for name, held in dictionary.variables.items() if name in cases and _counts(held)}
    whole = (Part(ALL, np.arange(len(cases), dtype=np.intp)), *parts)
    rows = {name: _shares(cases[name], whole) for name in named}
    return MissingMap(tuple(part.name for part in whole), _gaps(cases, named, rows), _complete(named, rows))


def _gaps(cases: CaseTable, named: Mapping[str, Variable], rows: Mapping[str, tuple[Share, ...]]) -> tuple[Gap, ...]:
    with_gaps = [name for name in named if max(rows[name]) > Share.HARDLY_ANY]
    with_gaps.sort(key=lambda name: -float(np.mean(cases[name].missing)))
    return tuple(Gap(name, named[name].label, rows[name]) for name in with_gaps)


def _complete(named: Mapping[str, Variable], rows: Mapping[str, tuple[Share, ...]]) -> tuple[str, ...]:
    return tuple(held.label for name, held in named.items() if max(rows[name]) == Share.HARDLY_ANY)


def _shares(column: Column, parts: Sequence[Part]) -> tuple[Share, ...]:
    missing = column.missing
    return tuple(share_of(float(np.mean(missing[part.children]))) for part in parts)


def _counts(variable: Variable) -> bool:
    """Times of events are missing wherever nothing happened, and say nothing; keys are never missing."""
    time_of_event = variable.role is Role.EVENT and variable.kind is Kind.NUMBER
    return not time_of_event and variable.role not in (Role.KEY, Role.CENTRE)
