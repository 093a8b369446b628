"""Situations that a conference is reminded of: prompts with their source, never instructions."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from riskmodel.anatomy.amounts import asymmetry, at_least
from riskmodel.anatomy.arches import Arch
from riskmodel.anatomy.joints import outgrows_stock
from riskmodel.plans import vessels
from riskmodel.plans.atlas import ArchState, arch_state, assimilated, mass_absent, sides_of, two_halves
from riskmodel.plans.ends import JOINTS
from riskmodel.plans.sites import Ground
from riskmodel.plans.telling import PRACTICE, listed, mm, told
from riskmodel.plans.words import SIDES, Step


@dataclass(frozen=True, slots=True)
class Prompt:
    """One reminder: the step that it belongs to, the situation, what to think of, source, how sure (H, M, L).

    `plan`: the name of the plan that it belongs to, empty where it belongs to the child.
    """

    step: Step
    situation: str
    says: str
    source: str = PRACTICE
    confidence: str = "M"
    plan: str = ""


def prompts(ground: Ground) -> tuple[Prompt, ...]:
    """What this child's anatomy reminds of."""
    return tuple(prompt for rule in _RULES for prompt in rule(ground))


def _emergency(ground: Ground) -> Iterator[Prompt]:
    if ground.child.code("urgency") == "emergency":
        yield Prompt(Step.INSTABILITY, "emergency", "do not wait for a number or a page", confidence="H")


def _unstable_not_recorded(ground: Ground) -> Iterator[Prompt]:
    if not any(ground.child.code(name) == "yes" for name in JOINTS):
        says = (
            "anchors are counted about C1-C2 where a plan spans it; say what is unstable to count them where it matters"
        )
        yield Prompt(Step.INSTABILITY, "the unstable segment is not recorded", says)


def _earlier_operations(ground: Ground) -> Iterator[Prompt]:
    count = ground.child.number("prior_cvj_surgery")
    if count:
        says = "scar, missing bone, metal in place: see on CT what is left, and say why the last one did not do"
        yield Prompt(Step.LEVELS, f"earlier operations: {count:g}", says)


def _kyphosis(ground: Ground) -> Iterator[Prompt]:
    angle = ground.child.number("c2_c7_angle_deg")
    if angle is not None and angle < 0.0:
        says = "say whether the construct takes the curve in, how far it corrects, and how the child lies on the table"
        yield Prompt(Step.LEVELS, f"kyphosis of {told(-angle)} degrees below C2", says)


def _absent_mass(ground: Ground) -> Iterator[Prompt]:
    gone = [side.value for side in SIDES if mass_absent(ground.child, side)]
    if gone:
        says = (
            "a C1 held on one side is weak in rotation: think of O-C2 with both sides of C2, or of the other side of "
            "C1 with the occiput"
        )
        yield Prompt(Step.LEVELS, f"C1 lateral mass absent or tiny ({listed(gone)})", says, confidence="H")


def _high_riding(ground: Ground) -> Iterator[Prompt]:
    for side in SIDES:
        if vessels.high_riding(ground.child, side, ground.limits):
            says = (
                "avoid long pars, pedicle and transarticular screws there; think of the lamina or a short pars screw; "
                "drill the risky side last, and leave it if the first side bled"
            )
            yield Prompt(Step.ANCHORS, f"high-riding artery ({side.value})", says, confidence="H")


def _artery_not_imaged(ground: Ground) -> Iterator[Prompt]:
    unseen = [side.value for side in vessels.unseen_sides(ground.child)]
    if unseen:
        says = (
            "not imaged is not usual: ask for CTA or MRA; experts advise it before upper cervical surgery in dysplasia"
        )
        source = "best-practice guideline on skeletal dysplasia, Orphanet J Rare Dis 2020 (s13023-020-01415-7)"
        yield Prompt(Step.ANCHORS, f"artery not imaged ({listed(unseen)})", says, source, "H")


def _dominance(ground: Ground) -> Iterator[Prompt]:
    code = ground.child.code("artery_dominance")
    if code in ("single_right", "single_left"):
        says = "there is no second one: no risky path beside it"
        yield Prompt(Step.ANCHORS, f"one vertebral artery only ({code.removeprefix('single_')})", says, confidence="H")
    elif code in ("right", "left"):
        yield Prompt(Step.ANCHORS, f"dominant artery ({code})", "drill the riskier path last", confidence="H")


def _other_vessels(ground: Ground) -> Iterator[Prompt]:
    child = ground.child
    if child.code("condition") == "del_22q11" and sides_of(child, "carotid_medial") is None:
        says = "a carotid near the midline was found in 23 of 90: look before any screw reaches the front cortex"
        source = "Kimia et al., Int J Pediatr Otorhinolaryngol 2020;138:110236"
        yield Prompt(Step.ANCHORS, "22q11 deletion, carotid not looked at", says, source)
    if child.code("occipital_sinus") == "present":
        says = "9 of 50 children had one, more under 2 years: place midline screws away from it, have haemostatics open"
        yield Prompt(Step.ANCHORS, "large occipital sinus", says, "Widjaja & Griffiths, AJNR 2004 (n=50)")


def _posterior_arch(ground: Ground) -> Iterator[Prompt]:
    state = arch_state(ground.child, Arch.POSTERIOR)
    if state is not None and state.broken:
        says = "no wire, hook or strut on that arch; screws and a graft in the joints; expect bare dura in the midline"
        yield Prompt(Step.ANCHORS, f"posterior arch of C1 {state.value}", says, confidence="H")


def _two_halves(ground: Ground) -> Iterator[Prompt]:
    if two_halves(ground.child):
        says = (
            "at any age the two halves can move separately: hold each while drilling, join them with a cross-connector "
            "or span the occiput, see that both stand in line with C2 before locking"
        )
        yield Prompt(Step.ANCHORS, "both arches of the atlas open", says, confidence="H")


def _anterior_arch(ground: Ground) -> Iterator[Prompt]:
    if arch_state(ground.child, Arch.ANTERIOR) is ArchState.ABSENT:
        says = "the atlantodental interval cannot be measured: judge reduction by the space for the cord"
        yield Prompt(Step.REDUCTION, "anterior arch of C1 absent", says)


def _assimilated(ground: Ground) -> Iterator[Prompt]:
    joined = [side.value for side in SIDES if assimilated(ground.child, side)]
    if joined:
        says = (
            "occiput and C1 are one there: decide between O-C2 and C1-C2 and see whether there is a joint below; the "
            "artery is usually abnormal"
        )
        source = "vertebral artery in junction anomalies, Neuroradiology 2023;65:215-223 (n=258)"
        yield Prompt(Step.LEVELS, f"atlas joined to the occiput ({listed(joined)})", says, source, "H")


def _gaps(ground: Ground) -> Iterator[Prompt]:
    for side in SIDES:
        traction = ground.child.number(f"c1c2_gap_traction_{side.value}_mm")
        wide = outgrows_stock(traction, ground.stock.tallest_spacer_mm)
        if wide and traction is not None and ground.stock.tallest_spacer_mm is not None:
            says = (
                f"{mm(traction)} under traction, tallest spacer {mm(ground.stock.tallest_spacer_mm)}: shape a block of "
                "the child's own cortical bone, or distract less; never leave a spacer that a hand can move"
            )
            yield Prompt(Step.HEALING, f"joint gap wider than the tallest spacer ({side.value})", says)
        elif wide is None and ground.child.number(f"c1c2_gap_rest_{side.value}_mm") is not None:
            says = (
                "with the gap at rest alone it cannot be assessed: measure under traction, or plan for the graft block"
            )
            yield Prompt(Step.HEALING, f"joint gap under traction not known ({side.value})", says)


def _uneven_gaps(ground: Ground) -> Iterator[Prompt]:
    right, left = (ground.child.number(f"c1c2_gap_traction_{side.value}_mm") for side in SIDES)
    difference = asymmetry(right, left)
    if difference is not None and at_least(difference, ground.limits.value("uneven_gaps_mm")):
        says = "look at both sides before the operation: spacers of two heights, or a block on one side"
        yield Prompt(Step.HEALING, f"joint gaps differ by {mm(difference)}", says, confidence="L")


def _not_reduced(ground: Ground) -> Iterator[Prompt]:
    code = ground.child.code("reduces")
    if code == "not_under_traction":
        says = "release, osteotomy or a step from in front; rods do not reduce fixed joints in soft bone"
        yield Prompt(Step.REDUCTION, "does not reduce under traction", says, confidence="H")
    elif code == "under_traction":
        says = "paths and gaps change as the joint reduces: say whether they were measured before it or under traction"
        yield Prompt(Step.ANCHORS, "reduces under traction", says)
    elif code is None:
        says = "test it, awake or under traction, before anchors are settled: paths change as the joint reduces"
        yield Prompt(Step.REDUCTION, "reduction not tested", says)


def _steep(ground: Ground) -> Iterator[Prompt]:
    for side in SIDES:
        tilt = ground.child.number(f"c1c2_facet_sag_angle_{side.value}_deg")
        if tilt is not None and at_least(tilt, ground.limits.value("steep_facet_deg")):
            says = "near vertical joints slide and reduce poorly: plan the release"
            yield Prompt(Step.REDUCTION, f"steep facet, {tilt:g} degrees ({side.value})", says, confidence="L")


def _unstable_c1(ground: Ground) -> Iterator[Prompt]:
    if ground.child.code("unstable_c1_c2") == "yes" or ground.child.code("unstable_o_c1") == "yes":
        says = (
            "counter-pressure while drilling and tapping C1: it turns on C2 and carries the screw off its path; burr "
            "the entry, drill by hand, tap gently, C2 first, watch the motor potentials"
        )
        yield Prompt(Step.ANCHORS, "unstable C1", says, confidence="H")


def _soft_bone(ground: Ground) -> Iterator[Prompt]:
    z = ground.child.number("bone_density_z")
    soft = z is not None and at_least(-ground.limits.value("bone_density_z"), z)
    if soft or ground.child.code("condition") == "osteogenesis_imperfecta":
        says = "more anchors, a longer construct, both cortices where safe, under-tap, support outside, longer watching"
        yield Prompt(Step.HEALING, "soft bone", says)


def _metabolism(ground: Ground) -> Iterator[Prompt]:
    named = {
        "long_term_steroid": "long-term steroid",
        "bisphosphonate": "bisphosphonate",
        "low_weight_for_age": "low weight for age",
    }
    held = [words for name, words in named.items() if ground.child.code(name) == "yes"]
    if held:
        says = "bone heals slower: settle timing and feeding with the treating team before the operation"
        yield Prompt(Step.HEALING, listed(held), says, confidence="L")


def _growth(ground: Ground) -> Iterator[Prompt]:
    age = ground.child.number("age_years")
    if age is not None and not at_least(age, ground.limits.value("growth_ends_years")):
        says = (
            "growth in front of a fusion behind can bend it: the fewest levels that hold, O-C2 near neutral; fusing "
            "the occiput gives up its motion, which is stated here and not decided"
        )
        yield Prompt(Step.LEVELS, "growing child", says)


def _fused(ground: Ground) -> Iterator[Prompt]:
    if ground.child.code("c2_c3_fusion") == "yes":
        says = "stress gathers on C1-C2, more so with an assimilated atlas; variants of the artery are more frequent"
        yield Prompt(Step.LEVELS, "C2 and C3 fused from birth", says, "Tian et al., Neurospine 2021;18(4) (96 and 96)")


def _movements(ground: Ground) -> Iterator[Prompt]:
    if ground.child.code("involuntary_movements") == "yes":
        says = "treat the movements first where that can be done; the construct carries them until it has healed"
        yield Prompt(Step.HEALING, "involuntary movements", says, confidence="L")


def _cord(ground: Ground) -> Iterator[Prompt]:
    if ground.child.code("cord_signal") == "none" and ground.child.code("biology_group") == "storage":
        says = "no change of signal is no reassurance: 6 children with signs had none"
        source = "mucopolysaccharidosis IVA over 18 years, Childs Nerv Syst 2018 (s00381-018-3823-9)"
        yield Prompt(Step.CORD, "cord signal unchanged in storage disease", says, source)


_RULES: tuple[Callable[[Ground], Iterator[Prompt]], ...] = (
    _emergency,
    _unstable_not_recorded,
    _not_reduced,
    _steep,
    _anterior_arch,
    _cord,
    _absent_mass,
    _assimilated,
    _fused,
    _earlier_operations,
    _kyphosis,
    _growth,
    _high_riding,
    _artery_not_imaged,
    _dominance,
    _other_vessels,
    _posterior_arch,
    _two_halves,
    _unstable_c1,
    _gaps,
    _uneven_gaps,
    _soft_bone,
    _metabolism,
    _movements,
)
