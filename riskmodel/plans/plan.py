"""A plan as a frozen value: what a surgeon has in mind, not what will hold."""

from collections.abc import Mapping
from dataclasses import dataclass

from riskmodel.errors import Finding
from riskmodel.plans.words import Graft, GraftHold, JointsPrepared, Kind, Level, Place, Removal, Side, Step, Support


@dataclass(frozen=True, slots=True)
class Placed:
    """A kind of anchor at a level and a side."""

    level: Level
    side: Side
    kind: Kind

    @property
    def place(self) -> Place:
        """Level, side and kind."""
        return self.level, self.side, self.kind

    @property
    def label(self) -> str:
        """In words: "C2 right pedicle screw"."""
        return self.kind.at(self.level, self.side)


@dataclass(frozen=True, slots=True)
class Anchor(Placed):
    """One planned anchor. Sizes in mm, None where the plan names none; hooks, wires and bands have none."""

    diameter_mm: float | None = None
    length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Spacers:
    """Planned height in mm on each side; None where none is planned."""

    right_mm: float | None = None
    left_mm: float | None = None

    def of(self, side: Side) -> float | None:
        """The height on one side."""
        return {Side.RIGHT: self.right_mm, Side.LEFT: self.left_mm}.get(side)

    @property
    def planned(self) -> bool:
        """Whether there is any."""
        return (self.right_mm, self.left_mm) != (None, None)


NO_SPACERS = Spacers()


@dataclass(frozen=True, slots=True)
class Plan:
    """One plan, as typed. None stands for what the plan does not say; an empty tuple for none.

    `graft_upper`, `graft_lower`: bones that the graft lies on, which may be fewer than those spanned.
    `occipital_bone_left_mm`: bone that the planned removal will leave above itself. `complete`: nothing of the plan had
    to be refused.
    """

    name: str
    title: str
    upper: Level
    lower: Level
    rods: int
    connector: bool
    anchors: tuple[Anchor, ...]
    graft: tuple[Graft, ...] | None = None
    graft_held_by: GraftHold | None = None
    graft_upper: Level | None = None
    graft_lower: Level | None = None
    support: Support | None = None
    removal: tuple[Removal, ...] | None = None
    spacers: Spacers = NO_SPACERS
    joints_prepared: JointsPrepared | None = None
    occipital_bone_left_mm: float | None = None
    bmp: bool | None = None
    complete: bool = True

    @property
    def segments(self) -> int:
        """Segments spanned: O to C2 spans 2."""
        return self.lower.index - self.upper.index

    @property
    def includes_occiput(self) -> bool:
        """Whether the occiput is fixed."""
        return self.upper is Level.O

    def spans(self, level: Level) -> bool:
        """Whether a level lies within the construct."""
        return self.upper.index <= level.index <= self.lower.index

    def removes(self, removal: Removal) -> bool:
        """Whether the plan says that it removes this bone."""
        return removal in (self.removal or ())

    def holds_kind(self, *kinds: Kind) -> tuple[Anchor, ...]:
        """The anchors of these kinds."""
        return tuple(anchor for anchor in self.anchors if anchor.kind in kinds)


@dataclass(frozen=True, slots=True)
class PlansFile:
    """The plans in the order typed, the lines decided so far, and what had to be refused."""

    plans: tuple[Plan, ...]
    decided: Mapping[Step, str]
    findings: tuple[Finding, ...]
