"""The data dictionary as frozen values: what each variable is, and what each outcome is made of."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType

Range = tuple[float, float]

TABLES = ("children", "sides", "anatomy", "measures", "corridors", "screws", "events", "construct", "theatre")
LONG_TABLES = ("measures", "corridors", "screws", "events")  # several rows per child, never a column of the child's own
SIDES = ("right", "left")


class Kind(Enum):
    """What a cell of a variable may hold."""

    NUMBER = "number"
    INTEGER = "integer"
    ORDINAL = "ordinal"
    LEVEL = "level"
    YES_NO = "yes_no"
    FLAGS = "flags"
    DATE = "date"
    TEXT = "text"

    @property
    def numeric(self) -> bool:
        """Whether values are amounts on a scale."""
        return self in (Kind.NUMBER, Kind.INTEGER, Kind.ORDINAL)


class Role(Enum):
    """What a variable is for; only predictors may predict."""

    KEY = "key"
    CENTRE = "centre"
    DATE = "date"
    SEEN_UNTIL = "seen_until"
    PREDICTOR = "predictor"
    EVENT = "event"
    OTHER = "other"


class Moment(Enum):
    """When a variable is first known, in the order of care."""

    CLINIC = "clinic"
    IMAGING = "imaging"
    PLAN = "plan"
    THEATRE = "theatre"
    FOLLOW_UP = "follow_up"

    @property
    def order(self) -> int:
        """0 for the earliest moment."""
        return tuple(Moment).index(self)

    def later_than(self, other: "Moment") -> bool:
        """Whether this moment lies after `other`."""
        return self.order > other.order


class FoundBy(Enum):
    """How an outcome comes to light, hence what it must be followed to."""

    SCAN = "scan"
    THEATRE = "theatre"
    CLINIC = "clinic"


@dataclass(frozen=True, slots=True)
class Level:
    """One value of a level (or flags) variable: the code stored, the words shown, the group it belongs to."""

    code: str
    label: str
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Norm:
    """A published limit or mean, as text for people and, where it is a limit, as numbers."""

    text: str
    low: float | None = None
    high: float | None = None
    modality: str | None = None
    source: str | None = None
    confidence: str | None = None


@dataclass(frozen=True, slots=True)
class Variable:
    """One column of the dictionary.

    A column of a model is `(x - centre) / scale`. Outside `hard` a value cannot be true and is refused; outside
    `soft` it is questioned. `resolution` is the finest step that a bound or knot of a bundle may show.
    `states` are the words beside plain missing that a cell may hold (`not_measurable`, ...). `side` is the child's
    side, `sides` the pattern of the pair. `deed` names the twin that says what was done where this one says what was
    planned. `finds` belongs to times of follow-up: the kinds of outcome that they can vouch for. `monotone` is how the
    risk is held to move with the value ("rises", "falls"), None when nothing is claimed.
    """

    name: str
    label: str
    kind: Kind
    moment: Moment
    unit: str = ""
    hard: Range | None = None
    soft: Range | None = None
    resolution: float = 1.0
    centre: float = 0.0
    scale: float = 1.0
    levels: tuple[Level, ...] = ()
    states: tuple[str, ...] = ()
    role: Role = Role.PREDICTOR
    table: str = "children"
    sides: str | None = None
    side: str | None = None
    deed: str | None = None
    grouped_by: str | None = None
    monotone: str | None = None
    finds: tuple[FoundBy, ...] = ()
    how: str = ""
    norms: tuple[Norm, ...] = ()
    core: bool = False

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of the levels, in the dictionary's order; a level column stores the index into this."""
        return tuple(level.code for level in self.levels)


@dataclass(frozen=True, slots=True)
class Event:
    """Something that can happen after the operation, with a status and a time."""

    name: str
    label: str
    how: str = ""


@dataclass(frozen=True, slots=True)
class OutcomeDefinition:
    """An outcome by name: the first of its events, what ends the chance of it, what it is followed to.

    `seen_until` is the stem of a time of follow-up: "last_scan" stands for the variable `last_scan_months`.
    """

    name: str
    label: str
    first_of: tuple[str, ...]
    competes: tuple[str, ...]
    seen_until: str
    found_by: FoundBy | None = None
    never_counts: tuple[str, ...] = ()
    text: str = ""
    core: bool = False


@dataclass(frozen=True, slots=True)
class Dictionary:
    """All variables, events and outcomes under one name, version and digest (SHA-256 of the expanded content)."""

    name: str
    version: str
    variables: Mapping[str, Variable]
    events: Mapping[str, Event] = field(default_factory=lambda: MappingProxyType({}))
    outcomes: Mapping[str, OutcomeDefinition] = field(default_factory=lambda: MappingProxyType({}))
    digest: str = ""
