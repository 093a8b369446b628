"""A planning summary as plain text, in the order in which a conference thinks; and as one JSON document."""

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any

from riskmodel.documents.cautions import DEMONSTRATION, GENERAL, PLANNING
from riskmodel.documents.plain import plain
from riskmodel.documents.planning import words
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.risks import ModelRisks
from riskmodel.plans.steps import StepView
from riskmodel.plans.summary import Summary
from riskmodel.plans.telling import mm, told
from riskmodel.plans.views import PlanView


def cautions(summary: Summary) -> tuple[str, ...]:
    """What is printed with every planning page; that a model's data are invented comes first."""
    return (*((DEMONSTRATION,) if summary.demonstration else ()), *GENERAL, *PLANNING)


def to_document(summary: Summary) -> dict[str, Any]:
    """The summary as plain JSON, its cautions beside it."""
    held: dict[str, Any] = plain(summary)
    return {"format": held.pop("format"), "cautions": list(cautions(summary)), **held}


def lines(summary: Summary) -> Iterator[str]:
    """The whole summary; the first caution stands above it as well as below."""
    yield cautions(summary)[0]
    yield _head(summary)
    yield from summary.says
    yield from _section("To be mended or looked at", (str(finding) for finding in summary.findings))
    for step in summary.steps:
        yield from _section(f"{step.step.number}. {step.step.question}", _step(step))
    yield from _section("Sites, at the usual screw, with all bone in place", _sites(summary.sites))
    for view in summary.plans:
        yield from _section(f"Plan {view.plan.name}: {view.plan.title or view.levels}", _plan(view))
    yield from _section("Rescue", _rescues(summary))
    yield from _section("Kit", (words.kit_item(item) for item in summary.kit))
    yield from _section("Stop rules", (f"{rule.when}: {rule.then} [{rule.source}]" for rule in summary.stop_rules))
    yield from _section(f"Watch list ({summary.watch_says})", (words.watch_item(item) for item in summary.watch))
    for told_by in summary.risks:
        yield from _section(f"Past experience: {words.model_head(told_by)}", _model(told_by))
    yield from _section("Stock and limits", _shelf(summary))
    yield from _section("Cautions", (f"- {caution}" for caution in cautions(summary)))


def _section(title: str, held: Iterable[str]) -> Iterator[str]:
    inside = list(held)
    if inside:
        yield from ("", title, *(f"  {line}" for line in inside))


def _head(summary: Summary) -> str:
    parts = [summary.case_id]
    parts.append("age not known" if summary.age_years is None else f"{told(summary.age_years)} years")
    parts.append("weight not known" if summary.weight_kg is None else f"{told(summary.weight_kg)} kg")
    parts.append("blood volume not known" if summary.blood is None else words.blood(summary.blood))
    return f"{', '.join(parts)}; plans of {summary.on.isoformat()}"


def _step(step: StepView) -> Iterator[str]:
    yield from (words.fact(fact) for fact in step.measured)
    if step.not_known:
        yield f"NOT KNOWN: {'; '.join(step.not_known)}"
    yield from (f"think of: {words.prompt(prompt)}" for prompt in step.prompts)
    yield f"decided: {step.decided or '...'}"


def _sites(sites: Iterable[AnchorFit]) -> Iterator[str]:
    limits = []
    for fit in sites:
        yield f"{fit.label}: {words.anchor_class(fit)}"
        told_too = "; ".join((*(cap.says for cap in fit.caps), *fit.notes))
        yield from (f"    {line}" for line in (words.anchor_measures(fit), told_too) if line)
        limits.append(words.anchor_limit(fit))
    yield "Limits that these stand on:"
    yield from (f"    {limit}" for limit in dict.fromkeys(limits))


def _plan(view: PlanView) -> Iterator[str]:
    yield view.levels
    for anchor, fit in zip(view.plan.anchors, view.anchors, strict=True):
        length = "" if anchor.length_mm is None else f" x {mm(anchor.length_mm)}"
        size = "" if fit.asked_mm is None else f" {mm(fit.asked_mm)}{length}"
        yield f"{fit.label}{size}: {words.anchor_class(fit)}"
    yield f"anchors: {view.anchors_at_ends}"
    yield f"graft bed: {view.bed.words}"
    if not view.plan.complete:
        yield "parts of this plan were refused: see above"
    for held in view.contradictions:
        yield f"CONTRADICTS ITSELF: {held.found}; accepted: {held.accepted} [{held.source}]"


def _rescues(summary: Summary) -> Iterator[str]:
    held = (rescue for view in summary.plans for rescue in view.rescues)
    for plan, rescues in groupby(held, key=lambda rescue: rescue.plan):
        yield f"plan {plan}"
        yield from (f"  {rescue.anchor}: {words.rescue(rescue)}" for rescue in rescues)


def _model(held: ModelRisks) -> Iterator[str]:
    if held.refused:
        yield f"no number: {held.refused}"
    if not held.differences and not held.refused:
        yield "one plan alone has no difference"
    yield from (words.difference(difference) for difference in held.differences)
    yield from (words.plan_number(number) for number in held.numbers)


def _shelf(summary: Summary) -> Iterator[str]:
    yield f"stock: {summary.stock}"
    for limit in summary.local_limits:
        yield f"local limit {limit.name}: {told(limit.value)} {limit.unit} ({limit.source})"
