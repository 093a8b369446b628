"""`riskmodel inspect`: what a bundle is, in plain text."""

from collections.abc import Iterator
from pathlib import Path

import click

from riskmodel import bundle as bundles
from riskmodel.documents.card.facts import performance, population, predicted
from riskmodel.documents.card.limits import limits
from riskmodel.documents.card.model import MeasureLine
from riskmodel.documents.words import fixed, of_100, short, span


@click.command("inspect")
@click.argument("path", metavar="BUNDLE", type=click.Path(path_type=Path))
def command(path: Path) -> None:
    """Say what the model in BUNDLE predicts, for whom, how well, and what its limits are."""
    click.echo("\n".join(lines(bundles.read(path))))


def lines(bundle: bundles.Bundle) -> Iterator[str]:
    """The main facts, a line each; the model card holds the rest."""
    yield bundle.title
    yield f"  {bundle.id}, digest {bundle.digest}"
    yield f"  released {bundle.released}, to be reviewed by {bundle.review_by}, {bundle.use.value}"
    yield from (f"  made from {parent}" for parent in bundle.parents)
    yield from ("", "Limits", *(f"  {limit}" for limit in limits(bundle)))
    yield from ("", "Predicts", *(f"  {line}" for line in _predicted(bundle)))
    yield from ("", "For whom", *(f"  {line}" for line in _population(bundle)))
    yield from ("", "Terms", *(f"  {term.name}" for term in bundle.terms))
    yield from ("", "How well it did (apparent; corrected: Harrell, .632+)")
    yield from (f"  {_measure(line)}" for line in performance(bundle).measures)


def _predicted(bundle: bundles.Bundle) -> Iterator[str]:
    held = predicted(bundle)
    within = "" if held.horizon_months is None else f" within {short(held.horizon_months)} months"
    yield f"{held.label}{within}; in the cohort {of_100(held.rate)}"
    if held.text:
        yield held.text


def _population(bundle: bundles.Bundle) -> Iterator[str]:
    held = population(bundle)
    yield held.eligible or "every child"
    yield from (f"{line.label}: {span(line.low, line.high, line.unit)}" for line in held.numbers)
    yield from (f"{line.label}: {'; '.join(line.levels)}" for line in held.levels)


def _measure(line: MeasureLine) -> str:
    corrected = f"{fixed(line.harrell, 3)}, {fixed(line.point632plus, 3)}"
    return f"{line.label}: {fixed(line.apparent, 3)}; {corrected}"
