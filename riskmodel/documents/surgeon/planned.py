"""From the planning conference to the page: everything in short lines, nothing ranked, nothing left out silently."""

from collections.abc import Iterator, Sequence
from os.path import commonprefix

from riskmodel.anatomy.blood import BloodVolume
from riskmodel.documents.surgeon.ladder import ladder_of, screw_words
from riskmodel.documents.surgeon.model import Conference, Pairs, PlanLine, Step
from riskmodel.documents.words import MINUS, short
from riskmodel.drawing import Drawing, ladder_drawing
from riskmodel.plans.rescue import Rescue
from riskmodel.plans.risks import Difference, ModelRisks
from riskmodel.plans.steps import StepView
from riskmodel.plans.summary import Summary
from riskmodel.plans.theatre import StopRule
from riskmodel.plans.views import PlanView
from riskmodel.plans.watch import WatchItem
from riskmodel.plans.words import Level

NO_RESCUE = "nothing measured fits"


def conference_of(held: Summary) -> Conference:
    """The planning of one child as the page shows it."""
    return Conference(
        case_id=held.case_id,
        on=held.on,
        top=top_line(held.age_years, held.weight_kg, held.blood),
        steps=tuple(_step(view) for view in held.steps),
        ladder=_ladder(held) if held.sites else None,
        plans=tuple(_plan(view) for view in held.plans),
        between=tuple((model.digest, tuple(_differences(model))) for model in held.risks),
        rescue=_rescues(held.plans),
        kit=tuple(item.name + (", not in stock" if item.stocked is False else "") for item in held.kit),
        stop_rules=tuple(_stop_rules(held.stop_rules)),
        prompts=tuple(_prompts(held)),
        watch=tuple(_watch(item) for item in held.watch),
        doubts=tuple(dict.fromkeys(str(finding) for finding in held.findings)),
        says=held.says,
    )


def top_line(age_years: float | None, weight_kg: float | None, blood: BloodVolume | None) -> Pairs:
    """Age, weight and blood volume, as far as they are known."""
    return tuple(_top(age_years, weight_kg, blood))


def _top(age_years: float | None, weight_kg: float | None, blood: BloodVolume | None) -> Iterator[tuple[str, str]]:
    yield "age", "not known" if age_years is None else f"{short(age_years)} years"
    yield "weight", "not known" if weight_kg is None else f"{short(weight_kg)} kg"
    if blood is not None:
        losses = ", ".join(f"{share:.0%} {loss:.0f}" for share, loss in blood.loss_ml)
        yield "blood volume", f"{blood.volume_ml:.0f} ml ({losses} ml)"


def _step(view: StepView) -> Step:
    """What the child's own facts say; what the plans say stands under the ladder, prompts in full on the back."""
    return Step(
        number=view.step.number,
        title=view.step.question,
        measured=tuple(f"{fact.label}: {fact.says}" for fact in view.measured if not fact.plan),
        unknown=view.not_known,
        prompts=tuple(_situations(view)),
        decided=view.decided,
    )


def _situations(view: StepView) -> Iterator[str]:
    """Each situation once, with the plans that it belongs to."""
    told: dict[str, list[str]] = {}
    for prompt in view.prompts:
        told.setdefault(prompt.situation, []).extend([prompt.plan] if prompt.plan else [])
    for situation, plans in told.items():
        yield f"{', '.join(dict.fromkeys(plans))}: {situation}" if plans else situation


def _ladder(held: Summary) -> Drawing:
    planned = {fit.place for view in held.plans for fit in view.anchors}
    lowest = max([Level.C2, *(view.plan.lower for view in held.plans)], key=lambda level: level.index)
    fused = {Level(words.split("-")[0]) for view in held.plans for words in view.fused}
    return ladder_drawing(ladder_of(held.sites, planned, lowest=lowest, fused=fused))


def _plan(view: PlanView) -> PlanLine:
    return PlanLine(
        name=view.plan.name,
        title=view.plan.title,
        levels=view.levels,
        anchors=view.anchors_at_ends,
        contradictions=tuple(dict.fromkeys(held.found for held in view.contradictions)),
    )


def _differences(model: ModelRisks) -> Iterator[str]:
    """Pairs of plans, those of which the same is said in one line."""
    if model.refused:
        yield model.refused
    told: dict[str, list[str]] = {}
    for held in model.differences:
        told.setdefault(held.says, []).append(_difference(held))
    for says, pairs in told.items():
        yield f"{', '.join(pairs)}: {says}"


def _difference(held: Difference) -> str:
    pair = f"{held.first} less {held.second}"
    if held.difference is None or held.low is None or held.high is None:
        return pair
    return f"{pair} {_points(held.difference)} in 100 ({_points(held.low)} to {_points(held.high)})"


def _points(share: float) -> str:
    """A difference in whole children of 100, with its sign."""
    children = round(100 * share)
    return "0" if children == 0 else f"{'+' if children > 0 else MINUS}{abs(children)}"


def _rescues(views: Sequence[PlanView]) -> Pairs:
    """One line for each planned anchor; plans that leave the same rescue share it."""
    told: dict[tuple[str, str], list[str]] = {}
    for rescue in (rescue for view in views for rescue in view.rescues):
        told.setdefault((rescue.anchor, _rescue(rescue)), []).append(rescue.plan)
    return tuple(
        (f"{', '.join(plans)}: {anchor.removesuffix(' screw')}", words) for (anchor, words), plans in told.items()
    )


def _rescue(rescue: Rescue) -> str:
    smaller = ", ".join(short(size.diameter_mm) for size in rescue.smaller)
    parts = [f"smaller screw ({smaller})"] if smaller else []
    for fit in rescue.options:
        parts.append(f"{fit.label.removesuffix(' screw')} {screw_words(fit)}".strip())
    if not parts:
        # "None" alone could be read as looked at and absent.
        count = len(rescue.not_measured)
        parts = [NO_RESCUE + (f"; {count} place{'' if count == 1 else 's'} not measured" if count else "")]
    return "; ".join(parts)


def _stop_rules(rules: Sequence[StopRule]) -> Iterator[str]:
    """Rules with the same consequence in one line."""
    told: dict[str, list[str]] = {}
    for rule in rules:
        told.setdefault(rule.then, []).append(rule.when)
    for then, whens in told.items():
        first, *more = whens
        common = commonprefix(whens) if more else ""
        yield f"{first}{''.join(f' or {when.removeprefix(common)}' for when in more)}: {then}"


def _prompts(held: Summary) -> Iterator[tuple[str, str]]:
    """Every prompt once, with its source; those of a plan say which."""
    told: dict[tuple[str, str], list[str]] = {}
    for prompt in (prompt for view in held.steps for prompt in view.prompts):
        words = f"{prompt.says} ({prompt.source})"
        told.setdefault((prompt.situation, words), []).extend([prompt.plan] if prompt.plan else [])
    for (situation, words), plans in told.items():
        yield (f"{', '.join(dict.fromkeys(plans))}: {situation}" if plans else situation), words
    for view in held.plans:
        for found in view.contradictions:
            yield f"{view.plan.name}: {found.found}", f"accepted: {found.accepted}"


def _watch(item: WatchItem) -> tuple[str, str]:
    ages = [short(round(age, 1)) for age in (item.from_age_years, item.to_age_years) if age is not None]
    at = f" (age {' to '.join(dict.fromkeys(ages))})" if ages else ""
    only = f"plan {', '.join(item.plans)}: " if item.plans else ""
    return f"{item.when}{at}", f"{only}{item.what}: {item.why}"
