"""Firm and half anchors on each side of what is unstable.

Firm is a bone screw that fits; a screw that barely fits, a hook, a wire or a band is half an anchor, counted apart. A
C1 screw that is bare only because its entry is low holds in a whole lateral mass once the arch is undercut: it is firm,
and its class still says "fits barely". Occipital screws in the midline are one anchor each, two at most.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from riskmodel.plans.child import Child
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.plan import Plan
from riskmodel.plans.words import LEVELS, Fit, Kind, Level

MOST_MIDLINE = 2
# Upper and lower bone of each joint whose instability is recorded.
JOINTS = {
    "unstable_o_c1": (Level.O, Level.C1),
    "unstable_c1_c2": (Level.C1, Level.C2),
    "unstable_below_c2": (Level.C2, Level.C3),
}
_ACROSS = {
    Kind.TRANSARTICULAR_SCREW: (Level.C1, Level.C2),
    Kind.OCCIPUT_TRANSARTICULAR_SCREW: (Level.O, Level.C2),
}


@dataclass(frozen=True, slots=True)
class Segment:
    """The unstable segment: bones down to `above` lie above it, from `below` on below it.

    `stated`: recorded; otherwise the joint C1-C2 is taken where the plan spans it, else the highest joint of the plan.
    """

    above: Level
    below: Level
    stated: bool


@dataclass(frozen=True, slots=True)
class Count:
    """Anchors on one side of the unstable segment.

    `open` anchors are those whose class is not settled by what was measured; of them `open_screws` may turn out firm.
    """

    firm: int
    half: int
    open: int
    open_screws: int

    @property
    def words(self) -> str:
        """In words, as in "1 firm, 2 half"."""
        parts = [f"{self.firm} firm", f"{self.half} half"]
        return ", ".join(parts + ([f"{self.open} not known"] if self.open else []))


@dataclass(frozen=True, slots=True)
class Ends:
    """Both sides of the unstable segment."""

    segment: Segment
    above: Count
    below: Count

    @property
    def weaker_firm(self) -> tuple[int, int]:
        """Fewest and most firm anchors that the weaker end may have, equal where everything is settled."""
        low = min(self.above.firm, self.below.firm)
        high = min(count.firm + count.open_screws for count in (self.above, self.below))
        return low, high

    @property
    def weaker(self) -> Count:
        """The end with fewer firm anchors."""
        return min(self.above, self.below, key=lambda count: (count.firm, count.half))


def unstable_segment(child: Child, plan: Plan) -> Segment:
    """What is recorded as unstable, or what is taken for it."""
    joints = [bones for name, bones in JOINTS.items() if child.code(name) == "yes"]
    if joints:
        above, below = min(joints, key=_upper)[0], max(joints, key=_upper)[1]
        return Segment(above, below, stated=True)
    if plan.spans(Level.C1) and plan.spans(Level.C2):
        return Segment(Level.C1, Level.C2, stated=False)
    return Segment(plan.upper, LEVELS[plan.upper.index + 1], stated=False)


def _upper(bones: tuple[Level, Level]) -> int:
    return bones[0].index


def ends(child: Child, plan: Plan, fits: Sequence[AnchorFit]) -> Ends:
    """Firm and half anchors of a plan on each side of the unstable segment."""
    segment = unstable_segment(child, plan)
    above = [fit for fit in fits if across(fit.kind, fit.level)[0].index <= segment.above.index]
    below = [fit for fit in fits if across(fit.kind, fit.level)[1].index >= segment.below.index]
    return Ends(segment, _count(above), _count(below))


def across(kind: Kind, level: Level) -> tuple[Level, Level]:
    """Highest and lowest bone that an anchor holds."""
    return _ACROSS.get(kind, (level, level))


def counted(fits: Iterable[AnchorFit]) -> tuple[AnchorFit, ...]:
    """The anchors that count: at most two in the midline of the occiput."""
    held: list[AnchorFit] = []
    for fit in fits:
        midline = [other for other in held if other.kind is Kind.MIDLINE_SCREW]
        if fit.kind is not Kind.MIDLINE_SCREW or len(midline) < MOST_MIDLINE:
            held.append(fit)
    return tuple(held)


def _count(fits: Iterable[AnchorFit]) -> Count:
    held = counted(fits)
    unsettled = [fit for fit in held if not fit.hold_settled]
    screws = [fit for fit in held if fit.hold_settled and fit.kind.screw]
    others = [fit for fit in held if fit.hold_settled and not fit.kind.screw and fit.hold.possible]
    return Count(
        firm=sum(fit.hold.holds for fit in screws),
        half=sum(fit.hold is Fit.BARELY for fit in screws) + len(others),
        open=len(unsettled),
        open_screws=sum(fit.kind.screw and fit.hold is not Fit.BARELY for fit in unsettled),
    )
