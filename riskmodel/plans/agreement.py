"""Values that contradict each other: sides, sums, arches.

Swapped columns cannot be found from numbers: a contradiction is all that shows them, so it is a warning that asks for
the images, and every sheet asks for the sides to be read back.
"""

from collections.abc import Callable, Iterator

from riskmodel.anatomy.amounts import at_least
from riskmodel.anatomy.arches import Arch
from riskmodel.cases.table import State
from riskmodel.errors import Finding, Severity
from riskmodel.plans.atlas import sides_of
from riskmodel.plans.child import Child
from riskmodel.plans.limits import Limits
from riskmodel.plans.telling import mm
from riskmodel.plans.vessels import adult_rule
from riskmodel.plans.words import SIDES, Side

_ORDER = ("awake", "under_traction", "not_under_traction")
Found = tuple[str, str, str]  # variable, what was found, what would be accepted


def disagreements(child: Child, limits: Limits) -> tuple[Finding, ...]:
    """Warnings about values that cannot all be right."""
    return tuple(
        Finding("case", None, name, found, accepted, Severity.WARNING, rule.__name__.removeprefix("_"))
        for rule in _RULES
        for name, found, accepted in rule(child, limits)
    )


def _absent_mass_measured(child: Child, limits: Limits) -> Iterator[Found]:
    """A mass that is absent or tiny has no width for a screw; one that has none is absent."""
    absent = sides_of(child, "c1_lateral_mass_absent")
    for side in SIDES:
        name = f"c1_lm_width_{side.value}_mm"
        width, least = child.number(name), limits.value("screw_mm")
        if absent and side in absent and width is not None and at_least(width, least):
            yield name, f"{mm(width)}, with the mass absent or tiny on that side", f"under {mm(least)}, or another side"
        if absent is not None and side not in absent and child.state(name) is State.NOT_APPLICABLE:
            yield name, "not_applicable, with no absent mass recorded on that side", "a width, or that side as absent"


def _absent_artery(child: Child, limits: Limits) -> Iterator[Found]:
    """An absent artery is neither dominant nor the only one."""
    dominant = child.code("artery_dominance")
    for side in SIDES:
        name = f"artery_{side.value}"
        if child.code(name) == "absent" and dominant in (side.value, f"single_{side.value}"):
            yield name, f"absent, with artery_dominance {dominant}", "the dominant artery on the other side"
        other = Side.LEFT if side is Side.RIGHT else Side.RIGHT
        if dominant == f"single_{other.value}" and child.code(name) not in (None, "absent", "not_imaged"):
            yield name, f"{child.code(name)}, with artery_dominance {dominant}", "absent"


def _artery_imaging(child: Child, limits: Limits) -> Iterator[Found]:
    """What was not imaged has no course."""
    for side in SIDES:
        name = f"artery_{side.value}"
        if child.code("artery_imaging") == "none" and child.code(name) not in (None, "not_imaged"):
            yield name, f"{child.code(name)}, with artery_imaging none", "not_imaged, or the scan that showed it"


def _artery_courses(child: Child, limits: Limits) -> Iterator[Found]:
    """Both variables of the artery say the same."""
    for side in SIDES:
        name = f"artery_course_{side.value}"
        course, artery = child.code(name), child.code(f"artery_{side.value}")
        seen = not {course, artery} & {None, "not_imaged"}
        if seen and (course == "absent") != (artery == "absent"):
            yield name, f"{course}, with artery_{side.value} {artery}", "both absent, or neither"


def _high_riding_side(child: Child, limits: Limits) -> Iterator[Found]:
    """A scan and the heights that name opposite sides."""
    for side, other in ((Side.RIGHT, Side.LEFT), (Side.LEFT, Side.RIGHT)):
        seen = child.code(f"artery_{side.value}") == "high_riding" and child.code(f"artery_{other.value}") == "usual"
        if seen and adult_rule(child, side, limits) is False and adult_rule(child, other, limits):
            found = f"high_riding, where the heights of C2 meet the adult rule on the {other.value} only"
            yield f"artery_{side.value}", found, "the same side in both: look at the images, the sides may be swapped"


def _small_condyle(child: Child, limits: Limits) -> Iterator[Found]:
    """The condyle that is called small is not the larger one."""
    small = sides_of(child, "condylar_hypoplasia")
    right, left = (child.number(f"condyle_width_{side.value}_mm") for side in SIDES)
    if small is None or len(small) != 1 or right is None or left is None:
        return
    (side,) = small
    widths = {Side.RIGHT: right, Side.LEFT: left}
    if widths[side] > min(widths.values()):
        yield (
            "condylar_hypoplasia",
            f"{side.value}, where the condyle is the wider one",
            "the side of the smaller condyle",
        )


def _assimilation_side(child: Child, limits: Limits) -> Iterator[Found]:
    """A side of assimilation where there is one, and none where there is none."""
    how, name = child.code("atlas_assimilation"), "atlas_assimilation_side"
    if how == "none" and child.code(name) is not None:
        yield name, f"{child.code(name)}, with atlas_assimilation none", "not_applicable"
    if how not in (None, "none") and child.state(name) is State.NOT_APPLICABLE:
        yield name, f"not_applicable, with atlas_assimilation {how}", "right, left or both"


def _atlas_ring(child: Child, limits: Limits) -> Iterator[Found]:
    """The ring and the arches say the same; an intact ring may be open as usual for the age."""
    ring, age = child.code("atlas_ring"), child.number("age_years")
    if ring is None:
        return
    broken = {
        Arch.POSTERIOR: ("posterior_open", "both_open", "posterior_absent"),
        Arch.ANTERIOR: ("anterior_open", "both_open"),
    }
    for arch in Arch:
        name = f"atlas_{arch.value}_arch"
        own = child.code(name)
        if own == "closed" and ring in broken[arch]:
            yield name, f"closed, with atlas_ring {ring}", "open or absent, or another ring"
        if own not in (None, "closed") and ring == "intact" and age is not None and age >= 6.0:
            yield name, f"{own}, with atlas_ring intact at {age:g} years", "closed, or another ring"


def _reduction(child: Child, limits: Limits) -> Iterator[Found]:
    """`reduces` is the worse of the two directions."""
    parts = [child.code(f"reduces_{direction}") for direction in ("horizontal", "vertical")]
    known = [part for part in parts if part is not None]
    whole = child.code("reduces")
    if whole is not None and known and _ORDER.index(whole) < max(map(_ORDER.index, known)):
        worse = max(known, key=_ORDER.index)
        yield "reduces", f"{whole}, with one direction {worse}", f"{worse}: the worse of the two"


_RULES: tuple[Callable[[Child, Limits], Iterator[Found]], ...] = (
    _absent_mass_measured,
    _absent_artery,
    _artery_imaging,
    _artery_courses,
    _high_riding_side,
    _small_condyle,
    _assimilation_side,
    _atlas_ring,
    _reduction,
)
