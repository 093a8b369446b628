"""`riskmodel inspect`: what a bundle is, in plain text."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import click

from riskmodel import bundle as bundles
from riskmodel.cli.day import on_option
from riskmodel.documents.card.facts import checks, population, predicted, updates
from riskmodel.documents.card.limits import limits
from riskmodel.documents.card.model import Check, MeasureLine, UpdateLine
from riskmodel.documents.card.performance import performance
from riskmodel.documents.words import fixed, of_100, short, span
from riskmodel.monitoring import Review, review


@click.command("inspect")
@click.argument("path", metavar="BUNDLE", type=click.Path(path_type=Path))
@on_option("asking")
def command(*, path: Path, on: date) -> None:
    """Say what the model in BUNDLE predicts, for whom, how well, what its limits are, and where it came from."""
    click.echo("\n".join(lines(bundles.read(path), on=on)))


def lines(bundle: bundles.Bundle, *, on: date | None = None) -> Iterator[str]:
    """The main facts, a line each; the model card holds the rest. With `on`, also whether the review is due then."""
    yield bundle.title
    yield f"  {bundle.id}, digest {bundle.digest}"
    yield f"  released {bundle.released}, to be reviewed by {bundle.review_by}, {bundle.use.value}"
    yield from _review(bundle, on)
    yield from _chain(bundle)
    yield from ("", "Limits", *(f"  {limit}" for limit in limits(bundle)))
    yield from ("", "Predicts", *(f"  {line}" for line in _predicted(bundle)))
    yield from ("", "For whom", *(f"  {line}" for line in _population(bundle)))
    yield from ("", "Terms", *(f"  {term.name}" for term in bundle.terms))
    yield from ("", "How well it did (apparent; corrected: Harrell, .632+)")
    yield from (f"  {_measure(line)}" for line in performance(bundle).measures)


def _review(bundle: bundles.Bundle, on: date | None) -> Iterator[str]:
    state = Review.CURRENT if on is None else review(bundle.released, bundle.review_by, on)
    if state is not Review.CURRENT:
        yield f"  on {on}: {state.value}"


def _chain(bundle: bundles.Bundle) -> Iterator[str]:
    """From where the model came, oldest first, with what was changed or checked on the way."""
    changed = {held.parent: held for held in updates(bundle)}
    for parent in bundle.parents:
        yield f"  made from {parent}"
        if parent in changed:
            yield from (f"    {line}" for line in _update(changed[parent]))
    yield from (f"  checked {_check(held)}" for held in checks(bundle))


def _update(held: UpdateLine) -> Iterator[str]:
    yield f"updated on {held.on} by {held.method}: {held.chosen}; {held.children} children, {held.events} events"
    yield from held.tests
    yield from held.moved or ("nothing moved",)
    yield f"intervals: {held.interval}"
    yield f"what is whose: {held.facts}"


def _check(held: Check) -> str:
    ratio = f"{fixed(held.observed_expected)} ({fixed(held.low)} to {fixed(held.high)})"
    return (
        f"on {held.on} ({held.centre}): {held.children} children, {held.events} events, observed / expected {ratio}, "
        f"c {fixed(held.c)}"
    )


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
