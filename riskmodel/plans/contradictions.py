"""Plans that contradict themselves, or the images. Each is named with what would be accepted; none forbids anything."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from riskmodel.anatomy.amounts import TOLERANCE, at_least
from riskmodel.cases.table import State
from riskmodel.plans.atlas import assimilated, mass_absent
from riskmodel.plans.child import Child
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.healing import graft_bed
from riskmodel.plans.plan import Plan
from riskmodel.plans.screws import thickest_for_two_laminae_mm
from riskmodel.plans.sites import Ground
from riskmodel.plans.telling import PRACTICE, listed, mm
from riskmodel.plans.words import ACROSS_KINDS, PASSED_KINDS, SIDES, Because, Kind, Level, Side, Step, Support

_NO_BONE = (
    Because.BONE_MISSING,
    Because.ARCH_OPEN,
    Because.LAMINA_OPEN,
    Because.REMOVED_HERE,
    Because.REMOVED_EARLIER,
)


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two things of one plan that cannot both be; `rule` is a short fixed name of the check."""

    rule: str
    step: Step
    found: str
    accepted: str
    source: str


def contradictions(ground: Ground, plan: Plan, fits: Sequence[AnchorFit]) -> tuple[Contradiction, ...]:
    """Everything in a plan that contradicts itself or the images; `fits` are its anchors in their order."""
    of_anchors = [
        held for fit, anchor in zip(fits, plan.anchors, strict=True) for held in _anchor(fit, anchor.length_mm)
    ]
    return (*dict.fromkeys(of_anchors), *(held for rule in _RULES for held in rule(ground, plan)))


def _anchor(fit: AnchorFit, length_mm: float | None) -> Iterator[Contradiction]:
    reasons = [cap.says for cap in fit.caps if cap.because in _NO_BONE]
    if Because.BONE_MISSING in fit.because:
        reasons = ["no bone there"]
    if reasons:
        found = f"{fit.label}: {listed(reasons)}"
        accepted = "an anchor where there is bone, or the bone left in place"
        yield Contradiction("no_bone_for_anchor", Step.ANCHORS, found, accepted, PRACTICE)
    if length_mm is not None and fit.path_mm is not None and length_mm > fit.path_mm + TOLERANCE:
        found = f"{fit.label}: {mm(length_mm)} long in a path of {mm(fit.path_mm)}"
        yield Contradiction("longer_than_path", Step.ANCHORS, found, f"at most {mm(fit.path_mm)}", PRACTICE)


def _connector(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    if plan.connector and plan.rods < 2:
        found = f"a connector with {plan.rods} rod{'' if plan.rods == 1 else 's'}"
        yield Contradiction("connector_rods", Step.ANCHORS, found, "two rods, or no connector", PRACTICE)


def _no_rods(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    loose = [anchor for anchor in plan.anchors if anchor.kind.screw and anchor.kind not in ACROSS_KINDS]
    if plan.rods == 0 and loose:
        found = f"no rod for {listed(anchor.label for anchor in loose)}"
        yield Contradiction("screws_without_rods", Step.ANCHORS, found, "a rod, or screws across the joint", PRACTICE)


def _wire_in_tight_canal(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    room, least = ground.child.number("padi_mm"), ground.limits["tight_canal_mm"]
    passed = plan.holds_kind(*PASSED_KINDS)
    fixed = ground.child.code("reduces") == "not_under_traction"
    if passed and fixed and room is not None and not at_least(room, least.value):
        found = (
            f"{listed(anchor.label for anchor in passed)} passed where the cord has {mm(room)}, the joint not reduced"
        )
        accepted = f"a reduced joint, {mm(least.value)} or more, or an anchor that passes nothing under an arch"
        yield Contradiction("wire_in_tight_canal", Step.ANCHORS, found, accepted, least.source)


def _nothing_can_fuse(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    bed = graft_bed(ground.child, plan)
    if bed.nothing_can_fuse:
        found = "nothing here can fuse: no bone behind to graft on, and no joint prepared"
        accepted = "a prepared joint, or bone left behind on both sides of the unstable segment"
        yield Contradiction("nothing_can_fuse", Step.HEALING, found, accepted, PRACTICE)


def _assimilated(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    for anchor in plan.holds_kind(Kind.LATERAL_MASS_SCREW, Kind.ARCH_SCREW):
        on_c1 = anchor.level is Level.C1 and assimilated(ground.child, anchor.side)
        if on_c1 and has_joint(ground.child, anchor.side) is False:
            found = f"{anchor.label}: the atlas is joined to the occiput and has no joint with C2 there"
            yield Contradiction("assimilated_c1", Step.ANCHORS, found, "an anchor of the occiput or of C2", PRACTICE)


def has_joint(child: Child, side: Side) -> bool | None:
    """Whether C1 and C2 have a joint on a side; None where nothing tells."""
    gaps = [child.state(f"c1c2_gap_{when}_{side.value}_mm") for when in ("rest", "traction")]
    if State.NOT_APPLICABLE in gaps or child.code("c1c2_pseudoarticulation") == "fused_both":
        return False
    return True if State.PRESENT in gaps or child.code("c1c2_pseudoarticulation") == "normal" else None


def _two_laminae(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    screws = plan.holds_kind(Kind.LAMINA_SCREW)
    thickest = thickest_for_two_laminae_mm(ground.child, ground.limits)
    height = ground.child.number("c2_lamina_height_mm")
    asked = max((anchor.diameter_mm or ground.limits.value("screw_mm") for anchor in screws), default=0.0)
    if len(screws) > 1 and thickest is not None and height is not None and asked > thickest + TOLERANCE:
        found = f"two C2 lamina screws of {mm(asked)} in a height of {mm(height)}"
        accepted = f"two of at most {mm(thickest)}, or one"
        yield Contradiction("two_laminae", Step.ANCHORS, found, accepted, ground.limits["two_laminae_extra_mm"].source)


def _halo(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    if plan.support is not Support.HALO:
        return
    thin = ground.child.code("skull_thin_or_open") == "yes"
    shunt = ground.child.code("shunt") not in (None, "none")
    reasons = [words for held, words in ((thin, "a thin or open skull"), (shunt, "a shunt under a pin")) if held]
    if reasons:
        found = f"a halo with {listed(reasons)}"
        accepted = "more pins at less torque away from it, planned on CT, or another support"
        yield Contradiction("halo_pins", Step.HEALING, found, accepted, PRACTICE)


def _spacer_without_joint(ground: Ground, plan: Plan) -> Iterator[Contradiction]:
    for side in SIDES:
        if plan.spacers.of(side) is None:
            continue
        if mass_absent(ground.child, side) or has_joint(ground.child, side) is False:
            found = f"a spacer on the {side.value}, where no joint bears load"
            yield Contradiction("spacer_without_joint", Step.HEALING, found, "no spacer there, or a block", PRACTICE)


_RULES: tuple[Callable[[Ground, Plan], Iterator[Contradiction]], ...] = (
    _connector,
    _no_rods,
    _two_laminae,
    _assimilated,
    _wire_in_tight_canal,
    _nothing_can_fuse,
    _spacer_without_joint,
    _halo,
)
