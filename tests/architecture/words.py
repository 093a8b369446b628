"""Every word that is typed or read as a name: commands, options, ticks, gates, shapes, headings, file endings."""

import re
from collections.abc import Iterator

import click

from riskmodel.bundle import Use
from riskmodel.cli import commands as runtime
from riskmodel.dictionary.model import Moment
from riskmodel.documents.family import Avoid, Choice, wording
from riskmodel.drawing.ladder import Mark
from riskmodel.plans.words import Fit, Step
from synthetic_cohort.__main__ import main as generator
from synthetic_cohort.scenarios import Scenario
from tests.architecture.project import ROOT
from training.cli import commands as pipeline

_TYPST = re.compile(r'heading\(level: 2, "([^"]+)"')
_HTML = re.compile(r"<h[12][^>]*>([^<{]+)</h[12]>")
_PYTHON = re.compile(r'^\s+yield "([A-Z][^"]+)", ', re.MULTILINE)
_GATE = re.compile(r'(?:Verdicts\(|^        )"(\w+)"[,:]', re.MULTILINE)
_REPORT = re.compile(r'results\.write\(\s*folder,\s*[\w.]+,\s*"(\w+)"')
_ENDING = re.compile(r"\.(riskmodel|card|validation|check|update|reporting|assessment|share|round)\.(?:json|html|md)")


def words() -> dict[str, set[str]]:
    """Kind -> words of that kind."""
    typed = [*_typed(runtime, "riskmodel"), *_typed(pipeline, "training"), *_typed(generator, "synthetic_cohort")]
    return {
        "command": {name for name, _ in typed},
        "option": {option for _, options in typed for option in options},
        "scenario": {scenario.value for scenario in Scenario},
        "tick": {tick.value for tick in (*Choice, *Avoid)},
        "gate": set(_GATE.findall((ROOT / "riskmodel" / "gates.py").read_text(encoding="utf-8"))),
        "use": {use.value for use in Use},
        "moment": {moment.value for moment in Moment},
        "class of an anchor": {fit.value for fit in Fit},
        "shape and letter": {f"{mark.value} {mark.words}" for mark in Mark},
        "step": {step.question for step in Step},
        "heading": set(_headings()),
        "ending": set(_endings()),
    }


def _typed(group: click.Command, name: str) -> Iterator[tuple[str, list[str]]]:
    if isinstance(group, click.Group):
        context = click.Context(group)
        for part in group.list_commands(context):
            command = group.get_command(context, part)
            assert command is not None
            yield from _typed(command, f"{name} {part}")
    else:
        options = [option for held in group.params if isinstance(held, click.Option) for option in held.opts]
        yield name, [option for option in options if option.startswith("--")]


def _headings() -> Iterator[str]:
    yield from (text for name, text in vars(wording).items() if name.endswith("TITLE"))
    for folder, ending, pattern in (
        ("riskmodel/documents/templates", "*.typ", _TYPST),
        ("riskmodel/documents/templates", "*.jinja", _HTML),
        ("riskmodel/web/templates", "*.jinja", _HTML),
        ("riskmodel/documents", "page.py", _PYTHON),
        ("training/report", "*.py", _PYTHON),
    ):
        for path in sorted((ROOT / folder).rglob(ending)):
            found = pattern.findall(path.read_text(encoding="utf-8"))
            yield from (heading.strip() for heading in found if heading.strip())


def _endings() -> Iterator[str]:
    for package in ("riskmodel", "training"):
        for path in sorted((ROOT / package).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            yield from (*_ENDING.findall(text), *_REPORT.findall(text))
