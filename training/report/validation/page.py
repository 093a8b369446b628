"""The report in reading order: what to believe first, then how well, how steady, elsewhere, and what it hangs on."""

from collections.abc import Iterable, Iterator

from riskmodel.bundle import Bundle
from riskmodel.documents.blocks import Block, Bullets, Page, Section
from riskmodel.documents.cautions import DEMONSTRATION
from training.fitting import Trained
from training.report.validation import elsewhere, fit, hangs, learned
from training.report.validation.first import first
from training.validation import Validation


def page(trained: Trained, found: Validation, bundle: Bundle) -> Page:
    """The report as a page."""
    protocol = trained.protocol
    return Page(
        title=protocol.title,
        subtitle=f"Validation of {protocol.name}: what the fit is worth, and how far to believe it",
        band=DEMONSTRATION if protocol.demonstration else None,
        foot=f"{protocol.name} · digest {bundle.digest[:12]} · holds exact counts: stays in the department",
        sections=tuple(_made(_sections(trained, found, bundle))),
    )


def _made(sections: Iterable[tuple[str, Iterator[Block]]]) -> Iterator[Section]:
    for title, blocks in sections:
        if held := tuple(blocks):
            yield Section(title, held)


def _sections(trained: Trained, found: Validation, bundle: Bundle) -> Iterator[tuple[str, Iterator[Block]]]:
    yield "First", iter((Bullets(tuple(first(trained, found, bundle))),))
    yield "The cohort", fit.cohort(trained)
    yield "What this cohort can carry", fit.advice(trained.advice)
    yield "How well it did", fit.performance(trained, found.curves)
    yield "How steady it is", fit.steadiness(trained.replays, found.curves)
    yield "Candidates, and the price of the glass box", fit.candidates(trained)
    yield "Other centres", elsewhere.centres(found.centres)
    yield "Earlier and later years", elsewhere.eras(found.eras)
    yield "Kinds of children", elsewhere.subgroups(found.subgroups)
    yield "Which event counts, and who is taken as seen", hangs.definitions(found)
    yield "Other specifications", hangs.specifications(found.specifications)
    yield "Beliefs and data", learned.beliefs(found)
    yield "What was not measured", learned.missing(found.missing, found.beliefs)
    yield "What the boosted trees use", learned.trees(found.trees)
    yield "What the words mean", fit.meanings(bundle.performance["definitions"])
    yield "Cautions", iter((Bullets(bundle.cautions),))
