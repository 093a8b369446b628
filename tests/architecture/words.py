"""Every word that is typed or read as a name: what a person types, what stands on pages and sheets, and file names."""

from collections.abc import Iterator
from enum import Enum

import click

from riskmodel.bundle import Use
from riskmodel.cli import commands as runtime
from riskmodel.cli.sheet import TICKS
from riskmodel.dictionary.model import Moment
from riskmodel.documents.family import FamilyOptions, wording
from riskmodel.drawing.ladder import Mark
from riskmodel.plans import words as planned
from riskmodel.plans.risks import CONFOUNDED
from riskmodel.plans.words import Fit, Step
from riskmodel.web import plan_form, sheet_form, state, steps
from synthetic_cohort.__main__ import main as generator
from synthetic_cohort.scenarios import Scenario
from tests.architecture import written
from tests.architecture.project import ROOT
from training.cli import commands as pipeline

_PLAN_WORDS = (
    planned.Kind,
    planned.Side,
    planned.Graft,
    planned.GraftHold,
    planned.Support,
    planned.Removal,
    planned.JointsPrepared,
)


def words() -> dict[str, set[str]]:
    """Kind -> words of that kind."""
    typed = [*_typed(runtime, "riskmodel"), *_typed(pipeline, "training"), *_typed(generator, "synthetic_cohort")]
    scenarios = _values(Scenario)
    return {
        "command": {name for name, group, _ in typed if not group},
        "option": {word for _, _, held in typed for one in held if _named(one) for word in one.opts},
        "place holder": {word for _, _, held in typed for one in held for word in _holders(one)},
        "choice": {word for _, _, held in typed for one in held for word in _choices(one)}
        - {*TICKS, *CONFOUNDED, *scenarios},
        "scenario": scenarios,
        "tick": set(TICKS),
        "gate": set(written.gates(ROOT)),
        "use": _values(Use),
        "moment": _values(Moment),
        "word of a plan": set[str]().union(*map(_values, _PLAN_WORDS)),
        "class of an anchor": _values(Fit),
        "shape and letter": {f"{mark.value} {mark.words}" for mark in Mark},
        "step": {step.question for step in Step},
        "heading": {*written.headings(ROOT), *(text for name, text in vars(wording).items() if name.endswith("TITLE"))},
        "label": {*written.labels(ROOT), *_app_labels(), *_sheet_labels()},
        "file": set(written.files(ROOT)),
    }


def _values(kind: type[Enum]) -> set[str]:
    return {str(word.value) for word in kind}


def _typed(
    command: click.Command, name: str, above: click.Context | None = None
) -> Iterator[tuple[str, bool, list[click.Parameter]]]:
    """Each command with whether it is a group, and everything that its `--help` names."""
    context = click.Context(command, above, **command.context_settings)
    group = isinstance(command, click.Group)
    yield name, group, command.get_params(context)
    if isinstance(command, click.Group):
        for part in command.list_commands(context):
            inner = command.get_command(context, part)
            assert inner is not None
            yield from _typed(inner, f"{name} {part}", context)


def _named(held: click.Parameter) -> bool:
    return isinstance(held, click.Option)


def _holders(held: click.Parameter) -> Iterator[str]:
    """What stands for a value in the help, each way by itself: `BUNDLE`, `NAME` and `PATH`, `FILE.csv`."""
    shown = held.metavar or (str(held.name).upper() if isinstance(held, click.Argument) else "")
    # What begins with a dot is another ending of the file before it.
    yield from (word.removesuffix("...") for word in shown.split("|") if word and not word.startswith("."))


def _choices(held: click.Parameter) -> Iterator[str]:
    if isinstance(held.type, click.Choice):
        yield from map(str, held.type.choices)


def _app_labels() -> Iterator[str]:
    """Labels of the app that stand in its code: pages, groups of fields, what can be ticked, the fields of a plan."""
    yield from (name for name, _ in (*state._CASE_PAGES, *state._PAGES))
    yield from (held.title for held in steps._listed()[0])
    for ticks in sheet_form.groups(FamilyOptions()):
        yield from (ticks.title, *(tick.label for tick in ticks.ticks))
    yield from (label for label, _ in (*plan_form._ONE.values(), *plan_form._SEVERAL.values()))
    yield from plan_form._LENGTHS.values()


def _sheet_labels() -> Iterator[str]:
    """What the family's sheet has in bold, and what its lines to write on are for."""
    yield from (lead for lead, _ in (*wording.CHOICES.values(), *wording.YOUNG_PARTS))
    yield from (heading for heading, *_ in wording.OUTCOMES.values())
    for name, held in vars(wording).items():
        if name.endswith("_LINES"):
            yield from held
        elif name.endswith("_LINE") or name == "OWN_QUESTIONS":
            yield held
