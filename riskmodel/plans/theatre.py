"""What must be ready in theatre, and when to stop."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from riskmodel.anatomy.joints import outgrows_stock
from riskmodel.plans.atlas import two_halves
from riskmodel.plans.child import Child
from riskmodel.plans.ends import Ends
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.plan import Plan
from riskmodel.plans.rescue import Rescue, next_bone
from riskmodel.plans.sites import Ground
from riskmodel.plans.telling import PRACTICE, listed, mm, told
from riskmodel.plans.words import SIDES, Fit, Kind, Level, Side, Support

ALWAYS = "in every kit"


@dataclass(frozen=True, slots=True)
class KitItem:
    """One thing to have in the room, why, and whether the stock file has it (None where it cannot say)."""

    name: str
    because: tuple[str, ...]
    stocked: bool | None


@dataclass(frozen=True, slots=True)
class StopRule:
    """When it happens, what then; agreed on before the operation."""

    when: str
    then: str
    source: str = PRACTICE


@dataclass(frozen=True, slots=True)
class Ready:
    """What kit and stop rules are made from: the plans with the ends and the rescues of each."""

    ground: Ground
    plans: tuple[Plan, ...]
    ends: tuple[Ends, ...]
    rescues: tuple[Rescue, ...]


def kit(ready: Ready) -> tuple[KitItem, ...]:
    """What to have in the room."""
    return tuple(item for rule in _KIT for item in rule(ready))


def _smaller_screws(ready: Ready) -> Iterator[KitItem]:
    asked = [anchor.diameter_mm for plan in ready.plans for anchor in plan.anchors if anchor.diameter_mm is not None]
    sizes = [screw.diameter_mm for screw in ready.ground.stock.screws_for(Kind.PEDICLE_SCREW)]
    usual = ready.ground.limits.value("screw_mm")
    spine = [size for size in asked if size <= max(sizes, default=usual)] or [usual]
    smaller = [size for size in sizes if size < max(spine)]
    yield KitItem(f"smaller screws{_sizes(smaller)}", ("a path that turns out narrower",), bool(smaller))
    larger = [size for size in sizes if size > max(spine)]
    yield KitItem(f"a larger rescue screw{_sizes(larger)}", ("poor purchase",), bool(larger))


def _sizes(sizes: Sequence[float]) -> str:
    return f" ({', '.join(told(size) for size in sizes)} mm)" if sizes else ""


def _spacers(ready: Ready) -> Iterator[KitItem]:
    planned = [plan.name for plan in ready.plans if plan.spacers.planned]
    measured = any(_gap(ready.ground.child, "traction", side) is not None for side in SIDES)
    if planned or measured:
        heights = ready.ground.stock.spacer_heights_mm
        because = (f"planned in {listed(planned)}",) if planned else ("joint gap measured under traction",)
        yield KitItem(f"spacers in every height{_sizes(heights)}", because, bool(heights))


def _graft_block(ready: Ready) -> Iterator[KitItem]:
    tallest = ready.ground.stock.tallest_spacer_mm
    because = []
    for side in SIDES:
        traction = _gap(ready.ground.child, "traction", side)
        wide = outgrows_stock(traction, tallest)
        if wide and traction is not None and tallest is not None:
            because.append(f"{side.value}: gap {mm(traction)} under traction, tallest spacer {mm(tallest)}")
        elif traction is None and _gap(ready.ground.child, "rest", side) is not None:
            because.append(f"{side.value}: gap known at rest only, so it cannot be assessed")
    if because:
        yield KitItem(
            "structural graft: a block of the child's own cortical bone, shaped to the gap", tuple(because), None
        )


def _gap(child: Child, when: str, side: Side) -> float | None:
    return child.number(f"c1c2_gap_{when}_{side.value}_mm")


def _hooks_and_bands(ready: Ready) -> Iterator[KitItem]:
    stock = ready.ground.stock
    yield KitItem("hooks", (ALWAYS,), stock.hooks)
    yield KitItem("bands or cables", (ALWAYS,), stock.bands or stock.wires)


def _connector(ready: Ready) -> Iterator[KitItem]:
    halves = two_halves(ready.ground.child)
    planned = [plan.name for plan in ready.plans if plan.connector]
    because = [
        *(["both arches of the atlas open: the halves can move separately"] if halves else []),
        *([f"planned in {listed(planned)}"] if planned else []),
    ]
    if because:
        yield KitItem("cross-connector", tuple(because), ready.ground.stock.connectors)


def _halo(ready: Ready) -> Iterator[KitItem]:
    needed = ready.ground.limits.value("firm_anchors")
    few = [plan.name for plan, held in zip(ready.plans, ready.ends, strict=True) if held.weaker.firm < needed]
    planned = [plan.name for plan in ready.plans if plan.support is Support.HALO]
    because = [
        *([f"planned in {listed(planned)}"] if planned else []),
        *([f"fewer than {needed:g} firm anchors at one end in {listed(few)}"] if few else []),
    ]
    thin = ready.ground.child.code("skull_thin_or_open") == "yes"
    note = ["skull thin or open where pins would go: plan them on CT"] if thin else []
    yield KitItem("halo ring and pins", (*(because or ["poor purchase"]), *note), ready.ground.stock.halos)


def _haemostatics(ready: Ready) -> Iterator[KitItem]:
    yield KitItem("haemostatics, and a way to the endovascular team", ("bleeding from veins or the artery",), None)


_KIT: tuple[Callable[[Ready], Iterator[KitItem]], ...] = (
    _smaller_screws,
    _spacers,
    _graft_block,
    _hooks_and_bands,
    _connector,
    _halo,
    _haemostatics,
)


def stop_rules(ready: Ready, sites: Sequence[AnchorFit]) -> tuple[StopRule, ...]:
    """When to stop, to be agreed on before the operation; `sites` are all places looked at."""
    return (*_GENERAL, *_no_anchor_left(ready.rescues, sites))


_GENERAL = (
    StopRule("the first side bled from the artery", "the risky path of the second side is not drilled"),
    StopRule(
        "motor potentials fall",
        "stop; raise the pressure; undo the last step (traction, reduction, screw); check the position of neck and "
        "screws; if they stay away, no more reduction: leave what is stable and image",
    ),
    StopRule("the joint reduces less than planned", "measure the paths again before drilling across or beside it"),
    StopRule("a spacer can be moved by hand", "it comes out: another height, or a block of bone"),
    StopRule("loss of 20% of the blood volume", "say so aloud, and decide together whether to go on or to stage"),
)


def _no_anchor_left(rescues: Sequence[Rescue], sites: Sequence[AnchorFit]) -> Iterator[StopRule]:
    """For every level and side of a plan: where to go when nothing there holds, and what is known of that place."""
    seen: set[tuple[Level, Side]] = set()
    for rescue in rescues:
        if rescue.side is Side.MIDLINE or rescue.level is Level.O or (rescue.level, rescue.side) in seen:
            continue
        seen.add((rescue.level, rescue.side))
        level = next_bone(rescue.level)
        where = "the occiput" if level is Level.O else level.value
        then = f"next: {where}{_known_of(level, rescue.side, sites)}"
        yield StopRule(f"no anchor left at {rescue.level.value} {rescue.side.value}", then)


def _known_of(level: Level, side: Side, sites: Sequence[AnchorFit]) -> str:
    """Nothing where something fits there, on that side or in the midline; else why nobody should count on it."""
    fits = [fit for fit in sites if fit.level is level and fit.side in (side, Side.MIDLINE)]
    if any(fit.any_possible for fit in fits):
        return ""
    if any(fit.fit is Fit.NOT for fit in fits):
        return " (nothing measured there fits)"
    return " (not measured)"
