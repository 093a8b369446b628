"""What is known of arteries and veins beside the path of an anchor. What was not looked at is never normal."""

from collections.abc import Iterator

from riskmodel.anatomy.arteries import meets_adult_rule, rule_words
from riskmodel.plans.atlas import sides_of
from riskmodel.plans.child import Child
from riskmodel.plans.fitting import Cap
from riskmodel.plans.limits import Limits
from riskmodel.plans.words import SIDES, Because, Fit, Kind, Level, Side

NOT_IMAGED = "artery not imaged"
_OVER_THE_ENTRY = ("first_intersegmental", "fenestrated", "pica_from_c1_c2")
_C1_C2_SCREWS = (
    Kind.LATERAL_MASS_SCREW,
    Kind.ARCH_SCREW,
    Kind.PEDICLE_SCREW,
    Kind.PARS_SCREW,
    Kind.SUBFACETAL_SCREW,
    Kind.TRANSARTICULAR_SCREW,
    Kind.OCCIPUT_TRANSARTICULAR_SCREW,
)


def artery_imaged(child: Child, side: Side) -> bool:
    """Whether the course of the artery of a side was seen on an artery scan."""
    return child.code(f"artery_{side.value}") not in (None, "not_imaged")


def adult_rule(child: Child, side: Side, limits: Limits) -> bool | None:
    """Whether C2 meets the adult rule for a high-riding artery on a side; None when the heights do not tell."""
    return meets_adult_rule(
        child.number(f"c2_isthmus_height_{side.value}_mm"),
        child.number(f"c2_internal_height_{side.value}_mm"),
        isthmus_at_most_mm=limits.value("isthmus_mm"),
        internal_at_most_mm=limits.value("internal_height_mm"),
    )


def high_riding(child: Child, side: Side, limits: Limits) -> bool | None:
    """Whether the artery counts as high-riding: by the artery scan where there is one, else by the adult rule."""
    if artery_imaged(child, side):
        return child.code(f"artery_{side.value}") == "high_riding"
    return adult_rule(child, side, limits)


def c2_caps(child: Child, side: Side, limits: Limits) -> Iterator[Cap]:
    """A high-riding artery makes a screw by its groove fit barely; it never alone rules one out."""
    if not high_riding(child, side, limits):
        return
    seen = artery_imaged(child, side)
    says = "high-riding artery on the artery scan" if seen else rule_words(child.number("age_years"))
    yield Cap(Fit.BARELY, Because.ARTERY, says)


def notes(child: Child, kind: Kind, level: Level, side: Side, limits: Limits) -> tuple[str, ...]:
    """What else to know of vessels beside a screw of C1 or C2."""
    if kind not in _C1_C2_SCREWS or level not in (Level.C1, Level.C2):
        return ()
    return tuple(_notes(child, level, side, limits))


def _notes(child: Child, level: Level, side: Side, limits: Limits) -> Iterator[str]:
    seen = artery_imaged(child, side)
    if not seen:
        yield NOT_IMAGED
    if level is Level.C2 and seen and not high_riding(child, side, limits) and adult_rule(child, side, limits):
        yield f"{rule_words(child.number('age_years'))}; the artery scan shows it not high-riding"
    if level is Level.C1:
        yield from _c1_notes(child, side)


def _c1_notes(child: Child, side: Side) -> Iterator[str]:
    course = child.code(f"artery_course_{side.value}")
    if course in _OVER_THE_ENTRY and child.code(f"artery_{side.value}") != "over_c1_entry":
        yield f"{child.words(f'artery_course_{side.value}').lower()}: say whether it lies over the entry"
    medial = sides_of(child, "carotid_medial")
    if medial is None:
        yield "carotid not looked at"
    elif side in medial or (side is Side.MIDLINE and medial):
        yield "carotid near the midline: a screw through the front cortex comes close to it"


def occipital_notes(child: Child) -> tuple[str, ...]:
    """What to know of the veins under the midline of the occiput."""
    code = child.code("occipital_sinus")
    if code == "present":
        return ("large occipital sinus under the midline",)
    return () if code == "none" else ("occipital sinus not looked at",)


def unseen_sides(child: Child) -> tuple[Side, ...]:
    """Sides whose artery was not imaged."""
    return tuple(side for side in SIDES if not artery_imaged(child, side))
