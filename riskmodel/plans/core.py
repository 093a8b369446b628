"""A plan as the columns that a model reads."""

from collections.abc import Mapping, Sequence

from riskmodel.anatomy.joints import gap_excess_mm
from riskmodel.cases.table import State
from riskmodel.dictionary.model import Dictionary, Moment, Variable
from riskmodel.plans.child import Child
from riskmodel.plans.ends import Ends, across, counted
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.plan import Plan
from riskmodel.plans.stock import Stock
from riskmodel.plans.words import ACROSS_KINDS, PLATE_KINDS, SIDES, Fit, Graft, Kind, Side

Values = dict[str, object]
# What a plan decides in the table of children; everything of the table `construct` is the plan's too.
CORE = (
    "upper_level",
    "lower_level",
    "construct_kind",
    "weaker_end_anchors",
    "graft_kind",
    "planned_decompression",
    "planned_support",
)
# Held against a least that the bone must reach, not against their own diameter: they have no margin of a path.
_OCCIPITAL = (*PLATE_KINDS, Kind.CONDYLE_SCREW)
_SOURCES = {
    Graft.ILIAC_STRUCTURAL: "iliac",
    Graft.ILIAC_CHIPS: "iliac",
    Graft.RIB: "rib",
    Graft.SKULL_STRUCTURAL: "skull",
    Graft.SKULL_CHIPS: "skull",
    Graft.LOCAL: "local",
    Graft.DONOR_STRUCTURAL: "donor_structural",
    Graft.DONOR_CHIPS: "donor_chips",
    Graft.DEMINERALISED: "demineralised",
}


def of_the_plan(variable: Variable) -> bool:
    """Whether a variable of the dictionary is for the plan to say, not for the case."""
    return variable.name in CORE or (variable.table == "construct" and variable.moment is Moment.PLAN)


def with_plan(values: Mapping[str, object], own: Mapping[str, object], dictionary: Dictionary) -> Values:
    """The values of a case with everything of the plan replaced: what this plan does not say is not known."""
    known = dictionary.variables
    kept = {name: value for name, value in values.items() if name not in known or not of_the_plan(known[name])}
    return {**kept, **own}


def columns(child: Child, plan: Plan, fits: Sequence[AnchorFit], held: Ends, stock: Stock) -> Values:
    """What the plan says, in the dictionary's words; what it does not settle is left out.

    `weaker_end_anchors` is left out while an anchor that was not measured could change it.
    """
    fewest, most = held.weaker_firm
    said: dict[str, object | None] = {
        "upper_level": plan.upper.value,
        "lower_level": plan.lower.value,
        "includes_occiput": "yes" if plan.includes_occiput else "no",
        "n_segments": plan.segments,
        "construct_kind": construct_kind(plan),
        "weaker_end_anchors": fewest if fewest == most else None,
        "weaker_end_half_anchors": held.weaker.half if not held.weaker.open else None,
        "n_fixation_points": len(counted(fits)),
        "planned_decompression": _removal(plan),
        "planned_support": plan.support.value if plan.support else None,
        "rods": plan.rods,
        "cross_connector": "yes" if plan.connector else "no",
        "joint_prepared": plan.joints_prepared.value if plan.joints_prepared else None,
        "bmp_used": None if plan.bmp is None else ("yes" if plan.bmp else "no"),
        "n_occipital_screws": len(plan.holds_kind(*_OCCIPITAL)),
        **_graft(plan),
        **_margins(fits),
        **_spacers(child, plan, stock),
    }
    return {name: value for name, value in said.items() if value is not None}


def construct_kind(plan: Plan) -> str:
    """By the weakest part of the main construct: the level code that the dictionary has for it."""
    if plan.rods == 0:
        return "transarticular_cable" if plan.holds_kind(*ACROSS_KINDS) else "no_rigid_metal"
    return "rigid" if _screws_at_both_ends(plan) else "hook_or_wire_rod"


def _screws_at_both_ends(plan: Plan) -> bool:
    """Whether the highest and the lowest bone that hold anything hold a screw, and are not the same bone."""
    held = [(across(anchor.kind, anchor.level), anchor.kind.screw) for anchor in plan.anchors]
    bones = {bone.index for reach, _ in held for bone in reach}
    with_screw = {bone.index for reach, screw in held for bone in reach if screw}
    return len(bones) > 1 and {min(bones), max(bones)} <= with_screw


def graft_kind(graft: tuple[Graft, ...]) -> str:
    """The strongest kind of graft: the level code that the dictionary has for it."""
    if any(part.structural_own for part in graft):
        return "structural_own"
    if any(part.own for part in graft):
        return "other_own"
    return "donor" if graft else "none"


def _graft(plan: Plan) -> dict[str, object | None]:
    if plan.graft is None:
        return {}
    sources = dict.fromkeys(_SOURCES[part] for part in plan.graft)
    return {
        "graft_kind": graft_kind(plan.graft),
        "graft_sources": "+".join(sources) or "none",
        "graft_upper_level": plan.graft_upper.value if plan.graft_upper else None,
        "graft_lower_level": plan.graft_lower.value if plan.graft_lower else None,
    }


def _removal(plan: Plan) -> str | None:
    return None if plan.removal is None else "+".join(part.value for part in plan.removal) or "none"


def _margins(fits: Sequence[AnchorFit]) -> dict[str, object | None]:
    """Smallest margin and bare screws; left out while a screw was not measured."""
    screws = [fit for fit in fits if fit.kind.screw]
    if any(fit.fit is Fit.UNKNOWN for fit in screws):
        return {}
    margins = [fit.margin_mm for fit in screws if fit.kind not in _OCCIPITAL and fit.margin_mm is not None]
    smallest: object = round(min(margins), 6) if margins else "not_applicable"
    return {"min_margin_mm": smallest, "n_barely": sum(fit.fit is Fit.BARELY for fit in screws)}


def _spacers(child: Child, plan: Plan, stock: Stock) -> dict[str, object | None]:
    """Spacers and what the wider joint needs beyond the tallest; 0 where none is planned."""
    if not plan.spacers.planned:
        return {"gap_excess_mm": 0.0}
    heights = {f"spacer_height_{side.value}_mm": plan.spacers.of(side) for side in SIDES}
    excess = [_excess(child, side, stock) for side in SIDES if _has_gap(child, side)]
    known = [value for value in excess if value is not None]
    whole = max(0.0, *known) if known and len(known) == len(excess) else None
    return {**heights, "largest_spacer_mm": stock.tallest_spacer_mm, "gap_excess_mm": whole}


def _excess(child: Child, side: Side, stock: Stock) -> float | None:
    return gap_excess_mm(child.number(f"c1c2_gap_traction_{side.value}_mm"), stock.tallest_spacer_mm)


def _has_gap(child: Child, side: Side) -> bool:
    return child.state(f"c1c2_gap_traction_{side.value}_mm") is not State.NOT_APPLICABLE
