"""The report of an update: which step was taken and why, what moved, and what it is worth, as JSON and as a page."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents.blocks import Block, Bullets, Facts, Page, Paragraph, Section, Table
from riskmodel.documents.card.page import measures
from riskmodel.documents.card.performance import performance
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.plain import plain
from riskmodel.documents.words import signed
from training.advice import lines
from training.updating.closed_test import Branch
from training.updating.notes import sentence
from training.updating.update import Updated

FORMAT = 1
KEPT = (
    "The model is kept as it was: these children do not show that it needs a change, and changing it all the same "
    "would make it worse more often than better."
)
CHANGED = (
    "The model was changed. It is for study until it has been checked on children who took no part in the change: "
    "python -m training validate."
)


def document(done: Updated, sealed: Bundle) -> dict[str, Any]:
    """Every number of the update. It counts children of the department exactly, and stays there."""
    outcome, before = done.children.outcome, done.children.bundle
    return {
        "format": FORMAT,
        "demonstration": sealed.demonstration,
        "cautions": list(sealed.cautions),
        "bundle": {"id": sealed.id, "digest": sealed.digest},
        "parent": {"id": before.id, "digest": before.digest},
        "method": done.method.value,
        "chosen": done.chosen,
        "n": len(done.children),
        "events": outcome.events,
        "non_events": outcome.non_events,
        "tests": [] if done.test is None else plain(done.test.tests),
        "moved": plain(sealed.updates[-1].moved),
        "interval": done.step.interval,
        "what_is_whose": sealed.updates[-1].facts,
        "refit_allowed": done.advice.refit,
        "measures": plain(sealed.performance.get("measures", {})),
    }


def page(done: Updated, sealed: Bundle) -> Page:
    """The blocks of the report."""
    return Page(
        title=sealed.title,
        subtitle=f"{sealed.id} updated on {sealed.updates[-1].on}: {done.chosen}",
        band=DEMONSTRATION if sealed.demonstration else None,
        foot=f"{sealed.id} · digest {sealed.digest[:12]} · stays in the department",
        sections=tuple(Section(title, tuple(blocks)) for title, blocks in _sections(done, sealed)),
    )


def _sections(done: Updated, sealed: Bundle) -> Iterator[tuple[str, Iterator[Block]]]:
    yield "What was done", _done(done, sealed)
    yield "What moved", _moved(sealed)
    yield "How well it does on these children", _worth(done, sealed)
    yield "What these children can carry", iter((Bullets(tuple(line.strip() for line in lines(done.advice))),))
    yield "Cautions", iter((Bullets(sealed.cautions),))


def kept(done: Updated) -> bool:
    """Whether the model stayed as it was."""
    return done.test is not None and done.test.chosen is Branch.ORIGINAL


def _done(done: Updated, sealed: Bundle) -> Iterator[Block]:
    outcome = done.children.outcome
    yield Paragraph(KEPT if kept(done) else CHANGED, strong=True)
    yield Facts(
        (
            ("step", done.chosen),
            ("children", f"{len(done.children)}, {outcome.events} events, {outcome.non_events} known non-events"),
            ("refit", "allowed by the size of the cohort" if done.advice.refit else "not tried: too few children"),
            ("intervals", done.step.interval),
            ("what is whose", sealed.updates[-1].facts),
            ("from", sealed.parents[-1]),
            ("review", f"by {sealed.review_by}"),
        )
    )
    if done.test is not None:
        yield Paragraph(
            "Each candidate is tested against the richest, simplest first; the first not rejected at 5% is kept."
        )
        yield Bullets(tuple(sentence(test) for test in done.test.tests))


def _moved(sealed: Bundle) -> Iterator[Block]:
    moved = sealed.updates[-1].moved
    if not moved:
        yield Paragraph("Nothing.")
        return
    rows = tuple((held.what, signed(held.before, 3), signed(held.after, 3)) for held in moved)
    yield Table("Numbers of the sum, in log-odds", ("what", "before", "after"), rows, (1, 2))


def _worth(done: Updated, sealed: Bundle) -> Iterator[Block]:
    if kept(done):
        yield Paragraph("Check it: python -m training validate says how it does here, with intervals.")
        return
    yield replace(measures(performance(sealed)), caption="Each child left out of the update in turn, approximately")
