"""The C1-C2 joint gap against the spacers in stock.

There are three gaps: at rest, under traction (known when planning) and after release (known in theatre only). Planning
compares the second with the stock; only the third tells whether a spacer over-fills. Gaps of telescoped joints are
negative.
"""

from enum import Enum

from riskmodel.anatomy.amounts import TOLERANCE, at_least

# Own proposal, no source: set above what two readers differ by.
LOOSE_FROM_MM = 1.0
OVERFILLED_FROM_MM = 2.0


class Seat(Enum):
    """How a spacer sits in the gap after release."""

    LOOSE = "loose: it can move"
    SEATED = "seated"
    OVERFILLED = "over-filled: it forces the joint open"


def gap_excess_mm(gap_traction_mm: float | None, tallest_spacer_mm: float | None) -> float | None:
    """Gap under traction less the tallest spacer in stock, in mm; above 0 no stocked spacer fills the joint.

    None when the gap under traction was not measured, whatever the gap at rest, or when no spacer is stocked.
    Common practice, no source: where it is above 0, a block of the child's own bone is shaped to the gap.
    """
    if gap_traction_mm is None or tallest_spacer_mm is None:
        return None
    return gap_traction_mm - tallest_spacer_mm


def outgrows_stock(gap_traction_mm: float | None, tallest_spacer_mm: float | None) -> bool | None:
    """Whether the gap under traction is wider than every stocked spacer; None when that cannot be told."""
    excess = gap_excess_mm(gap_traction_mm, tallest_spacer_mm)
    return None if excess is None else excess > TOLERANCE


def seat(gap_released_mm: float | None, spacer_mm: float | None) -> Seat | None:
    """How a spacer sits; None unless the gap after release is known: no other gap can tell.

    A spacer lower than the gap by 1 mm or more is loose, higher by 2 mm or more over-fills (own proposal, no source).
    """
    if gap_released_mm is None or spacer_mm is None:
        return None
    if at_least(gap_released_mm - spacer_mm, LOOSE_FROM_MM):
        return Seat.LOOSE
    return Seat.OVERFILLED if at_least(spacer_mm - gap_released_mm, OVERFILLED_FROM_MM) else Seat.SEATED
