"""Parts of the planning page, in words and drawings: the seven steps, and each plan on its ladder."""

from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.documents.planning import words
from riskmodel.documents.surgeon.ladder import ladder_of
from riskmodel.drawing import ladder_drawing
from riskmodel.plans import AnchorFit, Summary
from riskmodel.plans.plan import Anchor
from riskmodel.plans.steps import StepView
from riskmodel.plans.telling import mm
from riskmodel.plans.views import PlanView
from riskmodel.plans.words import Level


@dataclass(frozen=True, slots=True)
class StepPart:
    """One step: what was measured, what is not known, what to think of, what contradicts itself, what is decided."""

    number: int
    key: str
    question: str
    measured: tuple[str, ...]
    not_known: tuple[str, ...]
    prompts: tuple[str, ...]
    contradictions: tuple[str, ...]
    decided: str


@dataclass(frozen=True, slots=True)
class AnchorRow:
    """One anchor of a plan: place and size, how it fits, what was measured, and what is left if it fails."""

    place: str
    size: str
    verdict: str
    measures: str
    rescue: str


@dataclass(frozen=True, slots=True)
class PlanPart:
    """One plan on its ladder, in the order typed; `told`: levels, ends, graft bed."""

    name: str
    title: str
    told: tuple[str, ...]
    svg: str
    ladder_words: str
    anchors: tuple[AnchorRow, ...]
    contradictions: tuple[str, ...]


def step_parts(summary: Summary) -> tuple[StepPart, ...]:
    """The seven steps; what contradicts itself in a plan stands at the step that it belongs to."""
    return tuple(_step(view, summary.plans) for view in summary.steps)


def _step(view: StepView, plans: tuple[PlanView, ...]) -> StepPart:
    at_odds = (
        f"plan {plan.plan.name}: {held.found}; accepted: {held.accepted}"
        for plan in plans
        for held in plan.contradictions
        if held.step is view.step
    )
    return StepPart(
        number=view.step.number,
        key=view.step.value,
        question=view.step.question,
        measured=tuple(words.fact(fact) for fact in view.measured),
        not_known=view.not_known,
        prompts=tuple(words.prompt(prompt) for prompt in view.prompts),
        contradictions=tuple(at_odds),
        decided=view.decided,
    )


def plan_parts(summary: Summary) -> tuple[PlanPart, ...]:
    """The plans side by side, all on ladders of the same length."""
    lowest = max([Level.C2, *(view.plan.lower for view in summary.plans)], key=lambda level: level.index)
    return tuple(_plan(view, summary.sites, lowest) for view in summary.plans)


def _plan(view: PlanView, sites: tuple[AnchorFit, ...], lowest: Level) -> PlanPart:
    planned = {fit.place for fit in view.anchors}
    others = [fit for fit in sites if fit.place not in planned]
    fused = {Level(joined.split("-")[0]) for joined in view.fused}
    drawn = ladder_drawing(ladder_of([*view.anchors, *others], planned, lowest=lowest, fused=fused))
    return PlanPart(
        name=view.plan.name,
        title=view.plan.title,
        told=tuple(_told(view)),
        svg=drawn.svg,
        ladder_words=drawn.words,
        anchors=tuple(_anchors(view)),
        contradictions=tuple(f"{held.found}; accepted: {held.accepted}" for held in view.contradictions),
    )


def _told(view: PlanView) -> Iterator[str]:
    yield view.levels
    yield f"anchors: {view.anchors_at_ends}"
    yield f"graft bed: {view.bed.words}"
    if not view.plan.complete:
        yield "parts of this plan were refused: see above"


def _anchors(view: PlanView) -> Iterator[AnchorRow]:
    rescues = {rescue.anchor: words.rescue(rescue) for rescue in view.rescues}
    for anchor, fit in zip(view.plan.anchors, view.anchors, strict=True):
        verdict, rescue = words.anchor_class(fit), rescues.get(anchor.label, "")
        yield AnchorRow(fit.label, _size(anchor, fit), verdict, words.anchor_measures(fit), rescue)


def _size(anchor: Anchor, fit: AnchorFit) -> str:
    if fit.asked_mm is None:
        return ""
    return mm(fit.asked_mm) + ("" if anchor.length_mm is None else f" x {mm(anchor.length_mm)}")
