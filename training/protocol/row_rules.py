"""How rows of a further table become one value per child, or the outcome: a protocol's words as frozen rules."""

from dataclasses import dataclass
from enum import Enum

from riskmodel.dictionary.model import Moment


class When(Enum):
    """Which measurement of a child counts. The day of the operation itself is before it."""

    LAST_BEFORE = "last before operation"
    FIRST_BEFORE = "first before operation"
    FIRST_AFTER = "first after operation"
    LAST_AFTER = "last after operation"
    CHANGE_AFTER = "last less first after operation"

    @property
    def after(self) -> bool:
        """Whether it is known only from follow-up on."""
        return self in (When.FIRST_AFTER, When.LAST_AFTER, When.CHANGE_AFTER)

    @property
    def first(self) -> bool:
        """Whether the earliest counts, not the latest."""
        return self in (When.FIRST_BEFORE, When.FIRST_AFTER)


class Readers(Enum):
    """What becomes of several readers of one measurement."""

    MEAN = "mean"


class Fold(Enum):
    """What the screws, or the measured corridors, of a child become."""

    COUNT = "count"
    FITTING = "n_fits"
    BARELY = "n_barely"
    MARGIN = "min_margin_mm"
    BREACH = "any_breach"

    @property
    def by_margin(self) -> bool:
        """Whether it rests on what a corridor leaves beside a screw."""
        return self in (Fold.FITTING, Fold.BARELY, Fold.MARGIN)


class End(Enum):
    """Which end of the construct: its upper bone, its lower bone, or whichever of the two has fewer."""

    UPPER = "upper"
    LOWER = "lower"
    WEAKER = "weaker"


class Without(Enum):
    """What children without a row are: not known, or known to have none."""

    MISSING = "missing"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class MeasureRule:
    """One value from `measures`.

    `of`: the variable that was measured. `traction`: rows under traction count, and no others; else those alone that
    are not. `otherwise`: the modality that stands in where there is none of the first; who has it is counted and said.
    """

    of: str
    when: When
    modality: str
    position: str
    traction: bool = False
    readers: Readers | None = None
    otherwise: str | None = None


@dataclass(frozen=True, slots=True)
class AnchorRule:
    """One value from `screws` or `corridors`.

    `sites`: the kinds that count, all when empty. `done`: as done, not as planned. `diameter_mm`: of the screw that
    corridors are held against; screws have their own.
    """

    table: str
    fold: Fold
    sites: tuple[str, ...] = ()
    end: End | None = None
    done: bool = False
    diameter_mm: float | None = None
    without: Without = Without.MISSING


@dataclass(frozen=True, slots=True)
class JoinRule:
    """The column of this name in a table with one row per child."""

    table: str


@dataclass(frozen=True, slots=True)
class EventRule:
    """The outcome from `events`: the first that qualifies. `without`: "no" or "unknown" for children without one."""

    without: str


@dataclass(frozen=True, slots=True)
class ChangeRule:
    """The outcome from `measures`: the first change by `at_least` against the first measurement after the operation.

    `of`: the variables that are looked at, each compared within one modality and one position.
    """

    of: tuple[str, ...]
    at_least: float


PredictorRule = MeasureRule | AnchorRule | JoinRule
OutcomeRule = EventRule | ChangeRule


def known_from(rule: PredictorRule) -> Moment:
    """The moment from which the value can be known at all."""
    if isinstance(rule, MeasureRule):
        return Moment.FOLLOW_UP if rule.when.after else Moment.IMAGING
    if isinstance(rule, JoinRule):
        return Moment.CLINIC
    if rule.fold is Fold.BREACH:
        return Moment.FOLLOW_UP
    if rule.done:
        return Moment.THEATRE
    return Moment.IMAGING if rule.table == "corridors" else Moment.PLAN
