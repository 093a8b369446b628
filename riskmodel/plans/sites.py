"""Every place where this child could hold an anchor, by level and side, and how it fits."""

from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.plans.child import Child
from riskmodel.plans.fitting import AnchorFit, assess
from riskmodel.plans.limits import Limits
from riskmodel.plans.paths import path_of
from riskmodel.plans.plan import Anchor, Plan
from riskmodel.plans.stock import Stock
from riskmodel.plans.where import Where
from riskmodel.plans.words import PLATE_KINDS, SIDES, Kind, Level, Place, Side

_BOTH_SIDES = (
    (Level.O, Kind.CONDYLE_SCREW),
    (Level.C1, Kind.LATERAL_MASS_SCREW),
    (Level.C1, Kind.ARCH_SCREW),
    (Level.C2, Kind.PEDICLE_SCREW),
    (Level.C2, Kind.PARS_SCREW),
    (Level.C2, Kind.LAMINA_SCREW),
    (Level.C2, Kind.TRANSARTICULAR_SCREW),
)


@dataclass(frozen=True, slots=True)
class Ground:
    """What every assessment stands on: the child, the limits, the stock."""

    child: Child
    limits: Limits
    stock: Stock

    def fit(self, place: Place, *, plan: Plan | None = None, asked_mm: float | None = None) -> AnchorFit:
        """How an anchor fits at a place; `asked_mm` is the usual screw where none is named."""
        asked = self.usual_mm(place[2]) if asked_mm is None else asked_mm
        path = path_of(Where(self.child, self.limits, *place, plan))
        return assess(place, path, asked_mm=asked, stock=self.stock, limits=self.limits)

    def usual_mm(self, kind: Kind) -> float:
        """The screw that is asked for where none is named; of the occiput's own screws the thickest in stock."""
        usual = self.limits.value("screw_mm")
        if kind not in PLATE_KINDS:
            return usual
        return max((screw.diameter_mm for screw in self.stock.screws_for(kind)), default=usual)

    def fit_planned(self, anchor: Anchor, plan: Plan) -> AnchorFit:
        """How a planned anchor fits, with the bone that its plan takes away."""
        return self.fit(anchor.place, plan=plan, asked_mm=anchor.diameter_mm)


def all_sites(ground: Ground, plans: tuple[Plan, ...]) -> tuple[AnchorFit, ...]:
    """The usual sites of occiput, C1 and C2, every measured path, and every site of a plan; from above down.

    Each at the usual screw and with all bone in place: what a plan removes is told with the plan.
    """
    places = {*_usual(), *_measured(ground.child), *_planned(plans)}
    return tuple(ground.fit(place) for place in sorted(places, key=_order))


def _usual() -> Iterator[Place]:
    yield Level.O, Side.MIDLINE, Kind.MIDLINE_SCREW
    for level, kind in _BOTH_SIDES:
        yield from ((level, side, kind) for side in SIDES)


def _measured(child: Child) -> Iterator[Place]:
    yield from ((row.level, row.side, row.kind) for row in child.corridors)


def _planned(plans: tuple[Plan, ...]) -> Iterator[Place]:
    for plan in plans:
        yield from (anchor.place for anchor in plan.anchors)


def _order(place: Place) -> tuple[int, int, int]:
    level, side, kind = place
    return level.index, tuple(Kind).index(kind), tuple(Side).index(side)
