"""What is kept, as frozen values."""

from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any

from riskmodel.errors import RiskmodelError
from riskmodel.monitoring import passed


class NotKept(RiskmodelError):
    """The file of kept answers could not be written or read; nothing was confirmed."""


class Event(Enum):
    """What became of a child by the horizon."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a child, as last noted.

    `operated`: the last day of the month of the operation (days are not kept), None when it has not been done or is
    not known. `noted_by`: initials.
    """

    event: Event
    operated: date | None
    noted_by: str
    noted_on: date


@dataclass(frozen=True, slots=True)
class Kept:
    """One answer of one model to one child.

    `case_id` is a pseudonym. `values` are the texts that were typed, by variable; `answer` is the answer as
    `riskmodel score --json` writes it. `horizon_months` is None for an outcome without a horizon.
    """

    id: str
    case_id: str
    kept_by: str
    kept_on: date
    model: str
    title: str
    digest: str
    outcome: str
    horizon_months: float | None
    demonstration: bool
    values: Mapping[str, str]
    answer: Mapping[str, Any]

    @property
    def probability(self) -> float | None:
        """The estimate, in [0, 1]; None when no number was shown."""
        held: float | None = self.answer["probability"]
        return held


@dataclass(frozen=True, slots=True)
class KeptChild:
    """A kept answer with what became of the child since; None when nothing was noted yet."""

    kept: Kept
    since: Outcome | None

    def due(self, on: date) -> bool:
        """Whether the horizon has passed and yet it is not known what became of the child."""
        if self.since is None or self.since.operated is None or self.since.event is not Event.UNKNOWN:
            return False
        return passed(self.since.operated, self.kept.horizon_months or 0.0, on)


def month_end(text: str) -> date:
    """The last day of a month written as YYYY-MM.

    >>> month_end("2026-02")
    datetime.date(2026, 2, 28)

    Raises
    ------
    ValueError
        For any other text.
    """
    first = date.fromisoformat(f"{text}-01")
    return first.replace(day=monthrange(first.year, first.month)[1])
