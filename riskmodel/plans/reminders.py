"""What one plan reminds of, given the child: few anchors, halves left free, no bone to graft on."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from riskmodel.anatomy.amounts import at_least
from riskmodel.anatomy.joints import LOOSE_FROM_MM
from riskmodel.plans.atlas import two_halves
from riskmodel.plans.ends import Ends
from riskmodel.plans.healing import GraftBed
from riskmodel.plans.plan import Plan
from riskmodel.plans.sites import Ground
from riskmodel.plans.situations import Prompt
from riskmodel.plans.telling import listed, mm
from riskmodel.plans.words import PASSED_KINDS, SIDES, Kind, Level, Removal, Step


@dataclass(frozen=True, slots=True)
class Looked:
    """A plan and what was found of it."""

    ground: Ground
    plan: Plan
    ends: Ends
    bed: GraftBed


def reminders(looked: Looked) -> tuple[Prompt, ...]:
    """The prompts that belong to one plan."""
    return tuple(prompt for rule in _RULES for prompt in rule(looked))


def _prompt(looked: Looked, step: Step, situation: str, says: str, confidence: str = "M") -> Prompt:
    return Prompt(step, situation, says, confidence=confidence, plan=looked.plan.name)


def _few_anchors(looked: Looked) -> Iterator[Prompt]:
    needed = looked.ground.limits["firm_anchors"]
    for where, count in (("above", looked.ends.above), ("below", looked.ends.below)):
        if count.firm < needed.value:
            says = (
                f"{count.words}; fewer than {needed.value:g} firm ones: another anchor, another level, support outside"
            )
            yield _prompt(looked, Step.ANCHORS, f"few firm anchors {where} the unstable segment", says)


def _halves_left_free(looked: Looked) -> Iterator[Prompt]:
    if two_halves(looked.ground.child) and not looked.plan.connector and not looked.plan.includes_occiput:
        says = "both arches are open and nothing joins the halves: a cross-connector, or the occiput"
        yield _prompt(looked, Step.ANCHORS, "two halves of the atlas left free", says)


def _no_bed(looked: Looked) -> Iterator[Prompt]:
    if looked.bed.behind is False and looked.bed.joints is None:
        says = (
            "no bone behind to graft on, and the plan does not say that joints are prepared: without them nothing fuses"
        )
        yield _prompt(looked, Step.HEALING, "no bone behind to graft on", says, "H")
    if looked.plan.graft == ():
        yield _prompt(looked, Step.HEALING, "no graft", "metal without bone tires: say what will fuse", "H")


def _removal_by_keel(looked: Looked) -> Iterator[Prompt]:
    keel = looked.plan.holds_kind(Kind.MIDLINE_SCREW)
    if keel and looked.plan.removes(Removal.FORAMEN_MAGNUM) and looked.plan.occipital_bone_left_mm is None:
        least = looked.ground.limits["occipital_bone_left_mm"]
        says = f"say how much bone is left above the removal; {mm(least.value)} are asked for ({least.source})"
        yield _prompt(looked, Step.ANCHORS, "midline screws and removal at the foramen magnum", says)


def _wire_and_canal(looked: Looked) -> Iterator[Prompt]:
    child, limit = looked.ground.child, looked.ground.limits["tight_canal_mm"]
    room = child.number("padi_mm")
    passed = looked.plan.holds_kind(*PASSED_KINDS)
    if passed and room is not None and not at_least(room, limit.value) and child.code("reduces") is None:
        says = f"the cord has {mm(room)} and reduction was not tested: nothing passes under an arch before it reduces"
        yield _prompt(looked, Step.ANCHORS, "wire or band in a tight canal", says, "H")


def _spacer_height(looked: Looked) -> Iterator[Prompt]:
    heights = looked.ground.stock.spacer_heights_mm
    for side in SIDES:
        planned = looked.plan.spacers.of(side)
        gap = looked.ground.child.number(f"c1c2_gap_traction_{side.value}_mm")
        if planned is not None and gap is not None and at_least(gap - planned, LOOSE_FROM_MM):
            says = (
                f"{mm(planned)} in a gap of {mm(gap)} under traction; in stock {listed(mm(held) for held in heights)}"
            )
            yield _prompt(looked, Step.HEALING, f"spacer lower than the gap ({side.value})", says)


def _fixes_the_neck(looked: Looked) -> Iterator[Prompt]:
    if looked.plan.includes_occiput:
        says = "a fixed O-C2 angle sets gaze, swallowing and airway: settle it awake, check it before locking"
        yield _prompt(looked, Step.LEVELS, "occiput included", says)


def _stops_at_the_curve(looked: Looked) -> Iterator[Prompt]:
    if looked.plan.lower.index >= Level.C7.index:
        says = "see that it ends beyond the curve and not at its apex"
        yield _prompt(looked, Step.LEVELS, f"ends at {looked.plan.lower.value}", says, "L")


_RULES: tuple[Callable[[Looked], Iterator[Prompt]], ...] = (
    _fixes_the_neck,
    _stops_at_the_curve,
    _few_anchors,
    _halves_left_free,
    _removal_by_keel,
    _wire_and_canal,
    _no_bed,
    _spacer_height,
)
