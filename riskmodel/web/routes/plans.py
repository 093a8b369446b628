"""The planning conference: step by step, plan by plan on the ladder, and what past records tell between plans."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from riskmodel.documents.planning import words
from riskmodel.documents.surgeon.planned import top_line
from riskmodel.documents.words import human
from riskmodel.plans import Summary
from riskmodel.plans.risks import CONFOUNDED
from riskmodel.plans.words import Step
from riskmodel.web import form
from riskmodel.web.desk import Case
from riskmodel.web.fields import Choice
from riskmodel.web.pages import Page, respond
from riskmodel.web.plan_parts import PlanPart, StepPart, plan_parts, step_parts
from riskmodel.web.planning import summary_of
from riskmodel.web.state import State, planning_state

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ModelPart:
    """What one model tells between plans: differences, range first; each plan's own number only where asked for."""

    head: str
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlansPage(Page):
    """`doubts`: what was refused or is doubtful. `unlock`: confounded fields, chosen where plans may differ in them."""

    template: ClassVar[str] = "plans.html.jinja"

    address: str
    case_id: str
    top: Pairs
    says: tuple[str, ...]
    doubts: tuple[str, ...]
    steps: tuple[StepPart, ...]
    plans: tuple[PlanPart, ...]
    models: tuple[ModelPart, ...]
    unlock: tuple[Choice, ...]
    numbers: bool
    kit: tuple[str, ...]
    stop_rules: tuple[str, ...]
    watch: tuple[str, ...]
    shelf: str


async def show(request: Request) -> Response:
    """The conference as it stands."""
    state, address, case = planning_state(request)
    summary = summary_of(state.department, case.asked, state.models.scorers, state.clock())
    return respond(_page(state, address, case, summary))


async def decide(request: Request) -> Response:
    """Note what is decided at each step; a line may stay blank."""
    state, address, case = planning_state(request)
    sent = await form.read(request)
    lines = {step.value: form.text(sent, f"decided.{step.value}") for step in Step}
    document = {**case.planning.document, "decided": {step: line for step, line in lines.items() if line}}
    planning = replace(case.planning, document=document)
    state.desk.put(address, replace(case, planning=planning).unsigned())
    return RedirectResponse(f"/case/{address}/plans", HTTPStatus.SEE_OTHER)


async def ask(request: Request) -> Response:
    """How the models are asked: which confounded fields may differ, and whether each plan's own number is wanted."""
    state, address, case = planning_state(request)
    sent = await form.read(request)
    unlocked = frozenset(name for name in CONFOUNDED if name in sent.getlist("unlock"))
    planning = replace(case.planning, unlocked=unlocked, numbers=form.text(sent, "numbers") == "yes")
    state.desk.put(address, replace(case, planning=planning))
    return RedirectResponse(f"/case/{address}/plans#records", HTTPStatus.SEE_OTHER)


def _page(state: State, address: str, case: Case, summary: Summary) -> PlansPage:
    return PlansPage(
        frame=state.frame("Plans", here="Plans", address=address),
        address=address,
        case_id=case.case_id,
        top=top_line(summary.age_years, summary.weight_kg, summary.blood),
        says=summary.says,
        doubts=tuple(dict.fromkeys(str(finding) for finding in summary.findings)),
        steps=step_parts(summary),
        plans=plan_parts(summary),
        models=tuple(_models(summary)),
        unlock=tuple(Choice(name, human(name), name in case.planning.unlocked) for name in CONFOUNDED),
        numbers=case.planning.numbers,
        kit=tuple(words.kit_item(item) for item in summary.kit),
        stop_rules=tuple(f"{rule.when}: {rule.then}" for rule in summary.stop_rules),
        watch=tuple(words.watch_item(item) for item in summary.watch),
        shelf=summary.stock,
    )


def _models(summary: Summary) -> Iterator[ModelPart]:
    for held in summary.risks:
        refused = (f"no number: {held.refused}",) if held.refused else ()
        told = (*map(words.difference, held.differences), *map(words.plan_number, held.numbers))
        yield ModelPart(words.model_head(held), (*refused, *told))


ROUTES = (
    Route("/case/{address}/plans", show, methods=["GET"]),
    Route("/case/{address}/plans/decided", decide, methods=["POST"]),
    Route("/case/{address}/plans/asked", ask, methods=["POST"]),
)
