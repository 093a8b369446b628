"""Invented children and plans, with only what a test is about."""

from collections.abc import Iterable, Mapping
from functools import cache

from riskmodel import dictionary as dictionaries
from riskmodel.dictionary import Dictionary
from riskmodel.errors import Severity
from riskmodel.plans import Child, Corridor, child_of, read_limits, read_stock
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.plan import Anchor, Plan
from riskmodel.plans.sites import Ground
from riskmodel.plans.words import Kind, Level, Place, Side

RIGHT, LEFT, MIDLINE = Side.RIGHT, Side.LEFT, Side.MIDLINE


@cache
def dictionary() -> Dictionary:
    """The shipped dictionary."""
    return dictionaries.read("cvj")


def case(**values: object) -> dict[str, object]:
    """The values of a case."""
    return values


def child(values: Mapping[str, object], corridors: Iterable[Corridor] = ()) -> Child:
    """A child with these values; a value that is refused fails the test."""
    held, findings = child_of(values, dictionary(), case_id="X-001", corridors=tuple(corridors))
    assert [finding for finding in findings if finding.severity is Severity.ERROR] == []
    return held


def ground(values: Mapping[str, object], corridors: Iterable[Corridor] = ()) -> Ground:
    """A child on the shipped limits and stock."""
    return Ground(child(values, corridors), read_limits(), read_stock())


def fit(
    place: Place, values: Mapping[str, object], *, asked_mm: float | None = None, plan: Plan | None = None
) -> AnchorFit:
    """How an anchor fits in a child with these values."""
    return ground(values).fit(place, asked_mm=asked_mm, plan=plan)


def anchor(level: Level, side: Side, kind: Kind, diameter_mm: float | None = None) -> Anchor:
    """An anchor, 3.5 mm across unless it says otherwise."""
    return Anchor(level, side, kind, (diameter_mm or 3.5) if kind.screw else None)


def plan(upper: Level, lower: Level, *anchors: Anchor, rods: int = 2, connector: bool = False) -> Plan:
    """A plan A with these anchors."""
    return Plan("A", "", upper, lower, rods, connector, anchors)


def both(level: Level, kind: Kind, diameter_mm: float | None = None) -> tuple[Anchor, Anchor]:
    """An anchor on each side."""
    return anchor(level, RIGHT, kind, diameter_mm), anchor(level, LEFT, kind, diameter_mm)
