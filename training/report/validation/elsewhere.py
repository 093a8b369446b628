"""Sections about other places, other years and kinds of children."""

from collections.abc import Iterator

from riskmodel.documents.blocks import Block, Facts, Paragraph, Table
from riskmodel.documents.words import ABSENT, fixed
from training.report.validation.cells import STANDING_HEAD, between, share, standing
from training.report.validation.comparisons import MEASURES, forest
from training.report.validation.picture import side_by_side
from training.validation.centres import Centres, Pooled
from training.validation.eras import Era, Eras
from training.validation.subgroups import Subgroups

LEFT_OUT = "Estimates made without the child itself (approximate leave-one-out), with 95% intervals"
NUMBERS = tuple(range(1, len(STANDING_HEAD) + 1))


def centres(held: Centres) -> Iterator[Block]:
    """Each centre left out in turn, and all of them together."""
    if held.reason is not None:
        yield Paragraph(f"Not left out: {held.reason}.")
    if not held.left_out:
        return
    yield Paragraph(f"Everything was learned anew from the other centres. Rule for small centres: {held.rule}.")
    rows = tuple((each.name, *standing(each)) for each in held.left_out)
    yield Table("Each centre, by a model of the others", ("centre", *STANDING_HEAD), rows, NUMBERS)
    rows = tuple((MEASURES[name], *_pooled(each)) for name, each in held.pooled.items())
    yield Table(
        "Random effects (REML, Hartung-Knapp, never below the usual error; new centre with k - 1 df)",
        (
            "measure",
            "centres",
            "mean over centres",
            "range for a new centre",
            "variance between (tau²)",
            "I²",
            "why none",
        ),
        rows,
        (1, 4, 5),
    )
    yield side_by_side(forest(held))


def _pooled(held: Pooled) -> tuple[str, ...]:
    new = ABSENT if held.new_low is None else f"{fixed(held.new_low)} to {fixed(held.new_high)}"
    shared = ABSENT if held.i2 is None else f"{held.i2:.0%}"
    told = between(held.value, held.low, held.high)
    return (str(held.centres), told, new, fixed(held.tau2, 3), shared, held.reason or "")


def eras(held: Eras) -> Iterator[Block]:
    """Before and after a year, and the later children by a model of the earlier."""
    if held.reason is not None:
        yield Paragraph(f"{held.reason[:1].upper()}{held.reason[1:]}.")
    if not held.eras:
        return
    rows = tuple((each.standing.name, *standing(each.standing)) for each in held.eras)
    yield Table(LEFT_OUT, ("years", *STANDING_HEAD), rows, NUMBERS)
    rows = tuple(_followed(each) for each in held.eras)
    yield Table(
        "Censoring by era",
        ("years", "last seen free before the horizon", "followed to it, if nothing happens"),
        rows,
        (1, 2),
    )
    if held.held_out is not None:
        told = tuple(zip(STANDING_HEAD, standing(held.held_out), strict=True))
        yield Paragraph(
            f"Everything learned from children before {held.from_year}, on those from then on:", strong=True
        )
        yield Facts(told)


def _followed(held: Era) -> tuple[str, ...]:
    return (held.standing.name, str(held.lost_before_horizon), share(held.followed_to_horizon))


def subgroups(held: tuple[Subgroups, ...]) -> Iterator[Block]:
    """One table for each variable of the protocol."""
    for each in held:
        rows = tuple((kind.name, *standing(kind)) for kind in each.kinds)
        yield Table(f"By: {each.label}", ("kind", *STANDING_HEAD), rows, NUMBERS)
    if held:
        yield Paragraph(f"{LEFT_OUT}. Left out one at a time, c reads a little low where there is little signal.")
