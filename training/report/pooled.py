"""The report of a fit over centres: what it is worth in each of them, and in a new one, as JSON and as a page."""

from collections.abc import Iterator
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents.blocks import Block, Bullets, Facts, Page, Paragraph, Section, Table
from riskmodel.documents.card.performance import MEASURES
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.plain import plain
from riskmodel.documents.words import ABSENT, fixed
from training.metrics import SCALES
from training.metrics.ranged import brought_back
from training.sharing import PooledFit
from training.sharing.finish import APPARENT, LEFT_OUT
from training.sharing.model import CAUTION, Judgement

FORMAT = 1


def document(made: PooledFit, sealed: Bundle) -> dict[str, Any]:
    """Every number of the pooled validation."""
    return {
        "format": FORMAT,
        "demonstration": sealed.demonstration,
        "cautions": list(sealed.cautions),
        "bundle": {"id": sealed.id, "digest": sealed.digest},
        "masked": made.masked,
        "rounds": made.rounds,
        "centres": [
            {"centre": part.sender.centre, "children": part.children, "events": part.events, **plain(part.measures)}
            for part in made.judgements
        ],
        "between_centres": plain(made.between),
        "cohort": plain(sealed.cohort),
    }


def page(made: PooledFit, sealed: Bundle) -> Page:
    """The blocks of the report."""
    return Page(
        title=sealed.title,
        subtitle=f"{sealed.id}, fitted from the sums of {len(made.judgements)} centres in {made.rounds} rounds",
        band=DEMONSTRATION if sealed.demonstration else None,
        foot=f"{sealed.id} · digest {sealed.digest[:12]}",
        sections=tuple(Section(title, tuple(blocks)) for title, blocks in _sections(made, sealed)),
    )


def _sections(made: PooledFit, sealed: Bundle) -> Iterator[tuple[str, Iterator[Block]]]:
    yield "What was done", _done(made, sealed)
    yield "Each centre", _centres(made)
    yield "Over centres, and in a new one", _between(made, sealed)
    yield "Cautions", iter((Bullets((CAUTION, *sealed.cautions)),))


def _done(made: PooledFit, sealed: Bundle) -> Iterator[Block]:
    cohort = sealed.cohort
    yield Paragraph(
        "Each centre summed over its own children and sent the sums. The coefficients are those that all rows together "
        "would have given, with each centre's own curve of follow-up and the moments fixed in the first round."
    )
    yield Facts(
        (
            ("children", f"{cohort['children']}, {cohort['events']} events"),
            ("centres", ", ".join(part.sender.centre for part in made.judgements)),
            ("sums", "masked: nobody saw a centre's own" if made.masked else "seen by whoever pooled"),
            ("judged", APPARENT if made.masked else LEFT_OUT),
            ("signal", "yes" if sealed.signal else "no: the rate is shown to everybody"),
        )
    )


def _centres(made: PooledFit) -> Iterator[Block]:
    head = ("centre", "children, at least", "events, at least", *(MEASURES[name] for name in SCALES))
    rows = tuple(
        (
            part.sender.centre,
            str(part.children),
            str(part.events),
            *(_cell(part, name) for name in SCALES),
        )
        for part in made.judgements
    )
    yield Table("How it did in each, with the 95% interval", head, rows, tuple(range(1, len(head))))


def _cell(part: Judgement, measure: str) -> str:
    name, back = SCALES[measure]
    held = brought_back(part.measures[name], back)
    return ABSENT if held.value is None else f"{fixed(held.value)} ({fixed(held.low)} to {fixed(held.high)})"


def _between(made: PooledFit, sealed: Bundle) -> Iterator[Block]:
    if not made.between:
        yield Paragraph("Fewer than two centres could tell: nothing to pool.")
        return
    held, spans = sealed.performance["measures"], sealed.performance["new_centre"]
    rows = tuple(
        (
            MEASURES[name],
            fixed(held[name]["apparent"]),
            f"{fixed(held[name]['low'])} to {fixed(held[name]['high'])}",
            f"{fixed(spans[name][0])} to {fixed(spans[name][1])}",
        )
        for name in SCALES
        if spans[name] is not None
    )
    head = ("measure", "average", "95% interval", "95%, in a new centre")
    yield Table("Random effects (REML, Hartung-Knapp)", head, rows, (1, 2, 3))
    yield Paragraph("With few centres the last column is wide: that is what so few centres can tell of the next.")
