"""What to look at afterwards, dated by the child's age. To be adapted to local practice."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor

from riskmodel.plans.child import Child
from riskmodel.plans.limits import Limits
from riskmodel.plans.plan import Plan
from riskmodel.plans.telling import PRACTICE, listed, told

ADAPT = "adapt to local practice"
_VISITS_MONTHS = (1.5, 3.0, 6.0, 12.0, 24.0)
_HANDOVER_YEARS = (16.0, 18.0)
# Years in which growth is fastest, from memory.
_SPURT_YEARS = {"female": (10.0, 13.0), "male": (12.0, 15.0)}
_ORGANS = {
    "storage": ("hips", "whole spine", "eyes", "hearing"),
    "dysplasia": ("hips", "whole spine", "eyes", "hearing"),
    "fragility": ("whole spine", "hearing"),
    "laxity": ("hips", "eyes", "hearing"),
    "segmentation": ("whole spine", "hearing", "kidneys"),
}


@dataclass(frozen=True, slots=True)
class WatchItem:
    """One thing to do: when, in words and as the child's age in years (from, to; None where it has none), why, source.

    `plans`: the plans that it holds for, empty for all.
    """

    when: str
    from_age_years: float | None
    to_age_years: float | None
    what: str
    why: str
    source: str = PRACTICE
    plans: tuple[str, ...] = ()


def watch_list(child: Child, plans: Sequence[Plan], limits: Limits) -> tuple[WatchItem, ...]:
    """What to watch: before leaving, the visits, growth, the condition, for life; without an age they have none."""
    age = child.number("age_years")
    return (
        *_letters(plans),
        *_visits(age),
        *_occiput(plans),
        *_growth(child, age, limits.value("growth_ends_years")),
        *_by_condition(child, age),
        *_for_life(age),
    )


def _letters(plans: Sequence[Plan]) -> Iterator[WatchItem]:
    occiput = _with_occiput(plans)
    why = "the neck is fixed: any later anaesthetic has to know before the tube"
    yield WatchItem("before leaving hospital", None, None, "airway alert letter to family, doctor and hospital", why)
    if occiput:
        why = "mouth opening and swallowing change with the O-C2 angle"
        yield WatchItem("before leaving hospital", None, None, "swallowing and mouth opening", why, plans=occiput)
    what = "implant record, typed: site, side, diameter, length, material, and whether it may go into a magnet"
    yield WatchItem("before leaving hospital", None, None, what, "so that removal years later is possible")


def _visits(age: float | None) -> Iterator[WatchItem]:
    for months in _VISITS_MONTHS:
        when = "6 weeks" if months < 2 else f"{told(months)} months"
        at = None if age is None else age + months / 12.0
        what = "clinic, and an upright side film; CT only if its answer changes care"
        yield WatchItem(when, at, at, what, "metal, reduction, union, neurology")


def _growth(child: Child, age: float | None, ends: float) -> Iterator[WatchItem]:
    what = "upright side film; height, O-C2 and C2-C7 angles; CT only if its answer changes care"
    why = "lordosis, the junction below, levels that join by themselves"
    start = None if age is None else age + 3.0
    if start is None or start < ends:
        yield WatchItem(f"yearly to the end of growth (taken as {told(ends)} years)", start, ends, what, why)
    spurt = _SPURT_YEARS.get(child.code("sex") or "", (10.0, 15.0))
    if age is None or age < spurt[1]:
        first = spurt[0] if age is None else max(spurt[0], age)
        yield WatchItem(
            "at the growth spurt", first, spurt[1], "an extra visit with a film", why, "from memory, not checked"
        )


def _by_condition(child: Child, age: float | None) -> Iterator[WatchItem]:
    group, condition = child.code("biology_group"), child.code("condition")
    if group in ("storage", "dysplasia"):
        what = "MRI below the graft, and of C7-T4 and T11-L2"
        why = "late stenosis below a fusion, kyphosis at the two junctions"
        source = f"Childs Nerv Syst 2018 (s00381-018-3823-9) for the need; interval: {PRACTICE}"
        yield WatchItem("yearly or every second year, for life", age, None, what, why, source)
    if condition == "osteogenesis_imperfecta":
        what = "skull base: clivo-axial angle, Chamberlain's line, MRI"
        why = "it went on in 80% though the fusion was solid"
        yield WatchItem("yearly, even if united", age, None, what, why, "Sawin & Menezes, J Neurosurg 1997;86:950-960")
    if condition == "achondroplasia":
        what = "clinic every 3 to 4 months in the first year of life, then every 3 to 6 months to 3 years"
        source = "Orphanet J Rare Dis 2023 (s13023-023-02795-2)"
        if age is not None and age < 3:
            yield WatchItem("to 3 years", age, 3.0, what, "foramen magnum", source)
    if group in _ORGANS:
        what = f"{listed(_ORGANS[group])}, by the condition"
        yield WatchItem("yearly", age, None, what, "they go with the condition")


def _occiput(plans: Sequence[Plan]) -> Iterator[WatchItem]:
    occiput = _with_occiput(plans)
    if occiput:
        why = "a fixed O-C2 angle can narrow the pharynx"
        yield WatchItem("3 months, then when snoring", None, None, "sleep study, swallowing", why, plans=occiput)


def _with_occiput(plans: Sequence[Plan]) -> tuple[str, ...]:
    return tuple(plan.name for plan in plans if plan.includes_occiput)


def _for_life(age: float | None) -> Iterator[WatchItem]:
    what = "talk about removal of the implants"
    yield WatchItem("after proven union", None, None, what, "growing on, magnets; planned removal is no failure")
    yield WatchItem(
        "before school and sport", None, None, "rules for play and sport, in the clinician's words", "falls"
    )
    first = _HANDOVER_YEARS[0] if age is None else max(_HANDOVER_YEARS[0], floor(age))
    if age is None or age < _HANDOVER_YEARS[1]:
        what = "hand-over to adult care, with the implant record and the airway letter"
        yield WatchItem("16 to 18 years", first, _HANDOVER_YEARS[1], what, "late changes come in adult life too")
    what = "a missed visit is listed with the kept answers, and called"
    yield WatchItem("at every visit missed", None, None, what, "a child who stays away is not known to be well")
