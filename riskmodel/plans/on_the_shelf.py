"""Whether what a plan asks for lies on the shelf."""

from collections.abc import Iterator

from riskmodel.anatomy.amounts import TOLERANCE
from riskmodel.errors import Finding, Severity
from riskmodel.plans.plan import Anchor, Plan
from riskmodel.plans.stock import Stock
from riskmodel.plans.telling import listed, mm
from riskmodel.plans.words import PASSED_KINDS, SIDES, Kind

SHEET = "stock"


def check_stock(plan: Plan, stock: Stock) -> tuple[Finding, ...]:
    """Everything in a plan that the stock file does not have, with what it has; the plan stands."""
    of_anchors = (finding for anchor in plan.anchors for finding in _anchor(plan, anchor, stock))
    return (*of_anchors, *_spacers(plan, stock), *_others(plan, stock))


def _finding(plan: Plan, what: str, found: str, accepted: str, rule: str) -> Finding:
    return Finding(SHEET, None, f"plan {plan.name}, {what}", found, accepted, Severity.ERROR, rule)


def _anchor(plan: Plan, anchor: Anchor, stock: Stock) -> Iterator[Finding]:
    if not anchor.kind.screw or anchor.diameter_mm is None:
        return
    screws = stock.screws_for(anchor.kind)
    screw = stock.screw(anchor.kind, anchor.diameter_mm)
    if screw is None:
        accepted = f"in stock: {listed(mm(held.diameter_mm) for held in screws) or 'none'}"
        yield _finding(plan, anchor.label, f"{mm(anchor.diameter_mm)} across", accepted, "diameter_not_stocked")
    longest = max((length for held in screws if screw in (None, held) for length in held.lengths_mm), default=None)
    if anchor.length_mm is not None and longest is not None and anchor.length_mm > longest + TOLERANCE:
        accepted = f"at most {mm(longest)} in stock"
        yield _finding(plan, anchor.label, f"{mm(anchor.length_mm)} long", accepted, "longer_than_stocked")


def _spacers(plan: Plan, stock: Stock) -> Iterator[Finding]:
    for side in SIDES:
        height = plan.spacers.of(side)
        if height is not None and not any(abs(height - held) <= TOLERANCE for held in stock.spacer_heights_mm):
            accepted = f"in stock: {listed(mm(held) for held in stock.spacer_heights_mm) or 'none'}"
            yield _finding(plan, f"{side.value} spacer", mm(height), accepted, "spacer_not_stocked")


def _others(plan: Plan, stock: Stock) -> Iterator[Finding]:
    for asked, kept, what in (
        (bool(plan.holds_kind(Kind.MIDLINE_SCREW)), stock.midline_plates, "a plate for the midline"),
        (bool(plan.holds_kind(Kind.HOOK)), stock.hooks, "hooks"),
        (bool(plan.holds_kind(*PASSED_KINDS)), stock.wires or stock.bands, "wires or bands"),
        (plan.connector, stock.connectors, "a connector"),
    ):
        if asked and not kept:
            yield _finding(plan, what, "not in stock", "another anchor, or a stock file that has it", "not_stocked")
