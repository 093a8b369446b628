"""One plan as the conference sees it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from riskmodel.plans.atlas import assimilated
from riskmodel.plans.child import Child
from riskmodel.plans.contradictions import Contradiction, contradictions
from riskmodel.plans.core import columns, construct_kind
from riskmodel.plans.ends import Ends, ends
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.healing import GraftBed, graft_bed
from riskmodel.plans.plan import Plan
from riskmodel.plans.reminders import Looked, reminders
from riskmodel.plans.rescue import Rescue, rescues
from riskmodel.plans.sites import Ground
from riskmodel.plans.situations import Prompt
from riskmodel.plans.steps import Fact
from riskmodel.plans.telling import listed
from riskmodel.plans.words import SIDES, Level, Step


@dataclass(frozen=True, slots=True)
class PlanView:
    """One plan and everything found of it; `anchors` in the plan's own order.

    `fused`: segments within the construct that grew together before birth, told apart from those spanned. `columns`:
    the plan as a model reads it, without what is not settled.
    """

    plan: Plan
    anchors: tuple[AnchorFit, ...]
    ends: Ends
    bed: GraftBed
    fused: tuple[str, ...]
    contradictions: tuple[Contradiction, ...]
    prompts: tuple[Prompt, ...]
    rescues: tuple[Rescue, ...]
    columns: Mapping[str, object]

    @property
    def levels(self) -> str:
        """Levels and segments in words."""
        spanned = self.plan.segments
        held = sorted({fit.level for fit in self.anchors}, key=lambda level: level.index)
        parts = [f"{self.plan.upper.value} to {self.plan.lower.value}, {spanned} segment{'' if spanned == 1 else 's'}"]
        parts.append(f"anchors at {listed(level.value for level in held) or 'no level'}")
        if self.plan.graft_upper and self.plan.graft_lower:
            parts.append(f"graft on {self.plan.graft_upper.value} to {self.plan.graft_lower.value}")
        return "; ".join(parts + ([f"fused from birth: {listed(self.fused)}"] if self.fused else []))

    @property
    def anchors_at_ends(self) -> str:
        """Firm and half anchors on each side of the unstable segment, in words."""
        segment = self.ends.segment
        above = f"{segment.above.value} and above: {self.ends.above.words}"
        return f"{above}; {segment.below.value} and below: {self.ends.below.words}"


def plan_view(ground: Ground, plan: Plan) -> PlanView:
    """Everything found of one plan."""
    fits = tuple(ground.fit_planned(anchor, plan) for anchor in plan.anchors)
    held, bed = ends(ground.child, plan, fits), graft_bed(ground.child, plan)
    return PlanView(
        plan=plan,
        anchors=fits,
        ends=held,
        bed=bed,
        fused=tuple(_fused(ground.child, plan)),
        contradictions=contradictions(ground, plan, fits),
        prompts=reminders(Looked(ground, plan, held, bed)),
        rescues=rescues(ground, plan, fits),
        columns=columns(ground.child, plan, fits, held, ground.stock),
    )


def _fused(child: Child, plan: Plan) -> Iterator[str]:
    if plan.spans(Level.O) and plan.spans(Level.C1):
        joined = [side.value for side in SIDES if assimilated(child, side)]
        if joined:
            yield f"O-C1 ({listed(joined)})"
    if plan.spans(Level.C2) and plan.spans(Level.C3) and child.code("c2_c3_fusion") == "yes":
        yield "C2-C3"


def facts_of_plans(views: Sequence[PlanView]) -> dict[Step, tuple[Fact, ...]]:
    """What the plans say, by step."""
    return {
        Step.CORD: tuple(_fact(view, _removal(view.plan)) for view in views),
        Step.LEVELS: tuple(_fact(view, view.levels) for view in views),
        Step.ANCHORS: tuple(_fact(view, view.anchors_at_ends) for view in views),
        Step.HEALING: tuple(_fact(view, _healing(view)) for view in views),
        Step.RESCUE: tuple(_fact(view, _rescue(view)) for view in views),
    }


def _fact(view: PlanView, says: str) -> Fact:
    return Fact(f"Plan {view.plan.name}", says, plan=view.plan.name)


def _removal(plan: Plan) -> str:
    if plan.removal is None:
        return "decompression: the plan does not say"
    return f"removes: {listed(part.label for part in plan.removal)}" if plan.removal else "removes no bone"


def _healing(view: PlanView) -> str:
    plan = view.plan
    support = f"support: {plan.support.value if plan.support else 'the plan does not say'}"
    kind = construct_kind(plan).replace("_", " ")
    return "; ".join((_graft(plan), view.bed.words, support, f"construct: {kind}"))


def _graft(plan: Plan) -> str:
    if plan.graft is None:
        return "graft: the plan does not say"
    words = listed(part.label for part in plan.graft) or "none"
    held = f", held by {plan.graft_held_by.value.replace('_', ' ')}" if plan.graft_held_by else ""
    return f"graft: {words}{held}"


def _rescue(view: PlanView) -> str:
    without = [rescue.anchor for rescue in view.rescues if not rescue.found]
    if not view.rescues:
        return "no anchor planned"
    if not without:
        return "every anchor has a rescue by the measurements"
    return f"nothing found by what was measured for {listed(without)}"
