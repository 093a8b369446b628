"""The planning conference as one frozen value, from which every page and document is drawn. It decides nothing.

The way of a plan: file (`reading`) -> each anchor against its bone (`where`, `paths`, `fitting`) -> ends, graft bed,
contradictions, reminders, rescue and a model's columns (`views`) -> differences of risk (`risks`) -> kit, stop rules
and watch list (`theatre`, `watch`); what the steps ask beside it all (`steps`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from riskmodel.anatomy.blood import BloodVolume, blood_volume
from riskmodel.errors import Finding
from riskmodel.plans.agreement import disagreements
from riskmodel.plans.child import Child
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.limits import Limit, Limits
from riskmodel.plans.on_the_shelf import check_stock
from riskmodel.plans.plan import PlansFile
from riskmodel.plans.risks import Asking, ModelRisks, PlanValues, risks
from riskmodel.plans.sites import Ground, all_sites
from riskmodel.plans.situations import prompts
from riskmodel.plans.steps import StepView, step_views
from riskmodel.plans.stock import Stock
from riskmodel.plans.theatre import KitItem, Ready, StopRule, kit, stop_rules
from riskmodel.plans.views import PlanView, facts_of_plans, plan_view
from riskmodel.plans.watch import ADAPT, WatchItem, watch_list
from riskmodel.scoring import Scorer

FORMAT = 1
# What a plan and a case have in common when they mean the same operation.
CONSTRUCT = ("upper_level", "lower_level", "construct_kind")
SIDES_SAY = "Read sides and values back from the images, and initial it, before anything is printed."
PROMPTS_SAY = "Prompts for the conference: it decides nothing, and puts no plan before another."


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything of one child's planning.

    `findings`: what was refused or is doubtful in the files; the rest stands. `sites`: every place looked at, at the
    usual screw, with all bone in place. `plans` in the order typed. `risks`: one entry a model, none without models.
    `local_limits`: limits that the department changed. `demonstration`: some model is made from invented data.
    """

    format: int
    case_id: str
    on: date
    age_years: float | None
    weight_kg: float | None
    blood: BloodVolume | None
    says: tuple[str, ...]
    findings: tuple[Finding, ...]
    steps: tuple[StepView, ...]
    sites: tuple[AnchorFit, ...]
    plans: tuple[PlanView, ...]
    risks: tuple[ModelRisks, ...]
    kit: tuple[KitItem, ...]
    stop_rules: tuple[StopRule, ...]
    watch: tuple[WatchItem, ...]
    watch_says: str
    stock: str
    local_limits: tuple[Limit, ...]
    demonstration: bool


@dataclass(frozen=True, slots=True)
class Conference:
    """What a summary is made from.

    `values`: the case as its file writes it, for the models; `findings`: what was found while reading.
    """

    child: Child
    values: Mapping[str, object]
    plans: PlansFile
    limits: Limits
    stock: Stock
    findings: tuple[Finding, ...] = ()


def summarise(held: Conference, asking: Asking, scorers: Sequence[Scorer] = ()) -> Summary:
    """Anatomy, anchors, plans, rescue, kit, stop rules and watch list of one child; with models, what they tell.

    A model that gives no number takes nothing else away.
    """
    ground = Ground(held.child, held.limits, held.stock)
    views = tuple(plan_view(ground, plan) for plan in held.plans.plans)
    told = tuple(risks(scorer, held.values, _as_columns(views), asking) for scorer in scorers)
    ready = _ready(ground, views)
    sites = all_sites(ground, ready.plans)
    return Summary(
        format=FORMAT,
        case_id=held.child.case_id,
        on=asking.on,
        age_years=held.child.number("age_years"),
        weight_kg=held.child.number("weight_kg"),
        blood=blood_volume(held.child.number("weight_kg"), held.child.number("age_years")),
        says=(PROMPTS_SAY, SIDES_SAY),
        findings=(*held.findings, *held.plans.findings, *_doubts(held)),
        steps=_steps(ground, views, held.plans),
        sites=sites,
        plans=views,
        risks=told,
        kit=kit(ready),
        stop_rules=stop_rules(ready, sites),
        watch=watch_list(held.child, ready.plans, held.limits),
        watch_says=ADAPT,
        stock=held.stock.name,
        local_limits=held.limits.local,
        demonstration=any(part.demonstration for part in told),
    )


def contradicted(held: Summary, values: Mapping[str, object]) -> bool:
    """Whether a plan with the levels and the construct of the case's own values contradicts itself or the images.

    A number for the case then rests on an operation that nobody can do as it is typed.
    """
    return any(view.contradictions and _same_construct(view, values) for view in held.plans)


def _same_construct(view: PlanView, values: Mapping[str, object]) -> bool:
    """What the case leaves open agrees with every plan."""
    return all(values.get(name) in (None, "", view.columns[name]) for name in CONSTRUCT)


def _ready(ground: Ground, views: tuple[PlanView, ...]) -> Ready:
    rescues = tuple(rescue for view in views for rescue in view.rescues)
    return Ready(ground, tuple(view.plan for view in views), tuple(view.ends for view in views), rescues)


def _steps(ground: Ground, views: tuple[PlanView, ...], typed: PlansFile) -> tuple[StepView, ...]:
    reminded = (*prompts(ground), *(prompt for view in views for prompt in view.prompts))
    return step_views(ground.child, reminded, facts_of_plans(views), typed.decided)


def _doubts(held: Conference) -> tuple[Finding, ...]:
    shelf = (finding for plan in held.plans.plans for finding in check_stock(plan, held.stock))
    return (*shelf, *disagreements(held.child, held.limits))


def _as_columns(views: Sequence[PlanView]) -> tuple[PlanValues, ...]:
    return tuple(PlanValues(view.plan.name, view.columns, view.plan.complete) for view in views)
