"""What else holds if a planned anchor fails in theatre: for want of angle, for bleeding, or for want of purchase."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from riskmodel.plans.fitting import AnchorFit, SizeFit
from riskmodel.plans.plan import Anchor, Plan
from riskmodel.plans.sites import Ground
from riskmodel.plans.words import LEVELS, SIDES, Fit, Kind, Level, Place, Side

_AT = {
    Level.O: (Kind.MIDLINE_SCREW, Kind.CONDYLE_SCREW, Kind.PARAMEDIAN_SCREW),
    Level.C1: (Kind.LATERAL_MASS_SCREW, Kind.ARCH_SCREW, Kind.HOOK),
    Level.C2: (Kind.PEDICLE_SCREW, Kind.PARS_SCREW, Kind.LAMINA_SCREW, Kind.SUBFACETAL_SCREW, Kind.HOOK, Kind.BAND),
}
_BELOW_C2 = (Kind.LATERAL_MASS_SCREW, Kind.PEDICLE_SCREW, Kind.HOOK)
_THORACIC = (Kind.PEDICLE_SCREW, Kind.HOOK)


@dataclass(frozen=True, slots=True)
class Rescue:
    """Rescue of one planned anchor.

    `smaller`: stocked screws under the planned one that fit the same path, barely included, largest first. `options`:
    other anchors that fit by the measurements, barely included, in the order of the levels, with what this plan leaves
    of the bone; those already planned are none. `not_measured`: those that nobody measured.
    """

    plan: str
    anchor: str
    level: Level
    side: Side
    smaller: tuple[SizeFit, ...]
    options: tuple[AnchorFit, ...]
    not_measured: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Whether anything is left by the measurements."""
        return bool(self.smaller or self.options)


def rescues(ground: Ground, plan: Plan, fits: Sequence[AnchorFit]) -> tuple[Rescue, ...]:
    """The rescue of every planned anchor; `fits` are the plan's anchors in their order. Screws in the midline once."""
    held = [_rescue(ground, plan, anchor, fit) for anchor, fit in zip(plan.anchors, fits, strict=True)]
    return tuple({rescue.anchor: rescue for rescue in held}.values())


def _rescue(ground: Ground, plan: Plan, anchor: Anchor, planned: AnchorFit) -> Rescue:
    fits = [ground.fit(place, plan=plan) for place in _places(anchor, plan)]
    return Rescue(
        plan=plan.name,
        anchor=anchor.label,
        level=anchor.level,
        side=anchor.side,
        smaller=tuple(_smaller(planned)),
        options=tuple(_at_its_largest(ground, plan, fit) for fit in fits if fit.any_possible),
        not_measured=tuple(fit.label for fit in fits if fit.fit is Fit.UNKNOWN),
    )


def _smaller(planned: AnchorFit) -> Iterator[SizeFit]:
    for size in reversed(planned.sizes):
        if planned.asked_mm is not None and size.diameter_mm < planned.asked_mm and size.fit.possible:
            yield size


def _at_its_largest(ground: Ground, plan: Plan, fit: AnchorFit) -> AnchorFit:
    """The same anchor at the largest stocked screw that fits, where the usual one does not."""
    best = fit.largest_fitting or fit.largest_possible
    if fit.fit.holds or best is None:
        return fit
    return ground.fit(fit.place, plan=plan, asked_mm=best.diameter_mm)


def _places(anchor: Anchor, plan: Plan) -> Iterator[Place]:
    """Where to look: the same bone first, then the next one that the construct can reach."""
    planned = {other.place for other in plan.anchors}
    sides = SIDES if anchor.side is Side.MIDLINE else (anchor.side,)
    for level in (anchor.level, next_bone(anchor.level)):
        for kind in _kinds(level):
            for side in (Side.MIDLINE,) if kind is Kind.MIDLINE_SCREW else sides:
                if (level, side, kind) not in planned and not (level is anchor.level and kind is anchor.kind):
                    yield level, side, kind


def next_bone(level: Level) -> Level:
    """The bone that takes over: C1 gives way to the occiput, the occiput to C1, any other to the one below."""
    if level in (Level.O, Level.C1):
        return Level.O if level is Level.C1 else Level.C1
    return LEVELS[min(level.index + 1, len(LEVELS) - 1)]


def _kinds(level: Level) -> tuple[Kind, ...]:
    if level in _AT:
        return _AT[level]
    return _BELOW_C2 if level.index <= Level.C7.index else _THORACIC
