"""Sections about what the estimates hang on: which event, which window, which form of the model."""

from collections.abc import Iterable, Iterator

from riskmodel.documents.blocks import Block, Paragraph, Table
from riskmodel.documents.words import ABSENT, fixed
from training.report.validation.cells import points, ranged, share
from training.validation import Validation
from training.validation.definitions import Definition, Window
from training.validation.specifications import Specifications
from training.validation.variants import Variant

VARIANT_HEAD = ("c, left out", "log loss, left out", "mean risk", "risks move by, points", "at most", "why none")


def variant(held: Variant) -> tuple[str, ...]:
    """Cells under `VARIANT_HEAD`."""
    return (
        ranged(held.c) if held.c.value is not None else ABSENT,
        fixed(held.log_loss, 3),
        share(held.mean_risk),
        points(held.moved),
        points(held.moved_most),
        held.reason or held.c.reason or "",
    )


def table(caption: str, first: str, held: Iterable[Variant]) -> Table:
    """Variants as a table."""
    rows = tuple((each.name, *variant(each)) for each in held)
    return Table(caption, (first, *VARIANT_HEAD), rows, (2, 3, 4, 5))


def definitions(found: Validation) -> Iterator[Block]:
    """Every definition of the outcome, and three visit windows."""
    if found.definitions:
        rows = tuple(_definition(each) for each in found.definitions)
        yield Table(
            "Every definition that the cohort can tell",
            ("definition", "children", "events", "competing", "lost before", "rate", "shipped: c", "shipped: O/E"),
            rows,
            (1, 2, 3, 4, 5),
        )
        yield table("The protocol fitted to each", "definition", (each.refitted for each in found.definitions))
    if found.windows:
        rows = tuple(_window(each) for each in found.windows)
        yield Table(
            "Who is taken as seen at the horizon",
            ("visit window", "taken as seen", "lost before", "events", "rate"),
            rows,
            (1, 2, 3, 4),
        )
        yield table("The protocol under each window", "visit window", (each.refitted for each in found.windows))
    if not found.definitions and not found.windows:
        yield Paragraph("The outcome is a plain column: there is no other definition of it, and no visit window.")


def _definition(held: Definition) -> tuple[str, ...]:
    return (
        f"{held.label} (the protocol's)" if held.own else held.label,
        str(held.children),
        str(held.events),
        str(held.competing),
        str(held.lost_before_horizon),
        share(held.rate),
        ranged(held.shipped.c),
        ranged(held.shipped.observed_expected),
    )


def _window(held: Window) -> tuple[str, ...]:
    name = f"{held.months:g} months" + (" (the protocol's)" if held.own else "")
    return (name, str(held.in_window), str(held.lost_before_horizon), str(held.events), share(held.rate))


def specifications(held: Specifications) -> Iterator[Block]:
    """Three specifications set beforehand, and the spread between them."""
    yield table("Three specifications, set before any data were seen", "specification", held.variants)
    if held.spread_mean is not None and held.spread_90 is not None:
        yield Paragraph(
            f"The highest and the lowest of a child's three risks differ by {100 * held.spread_mean:.1f} points on "
            f"average, and by {100 * held.spread_90:.1f} or more for one child in ten. This comes on top of the "
            "intervals, which take the specification as given."
        )
