"""How far a placed screw left the bone, by two gradings in use. Only a scan after the operation has a grade.

A plan has none: it has a margin ("wider than the corridor by 0.5 mm").
"""

from dataclasses import dataclass
from enum import Enum

from riskmodel.anatomy.amounts import TOLERANCE, at_least


class Direction(Enum):
    """What a screw went into, in the dictionary's codes; tells which organ is at risk."""

    NONE = "none"
    CANAL = "canal"
    FORAMEN = "foramen"
    JOINT = "joint"
    O_C1 = "o_c1"
    ANTERIOR = "anterior"


@dataclass(frozen=True, slots=True)
class Breach:
    """A screw on a scan after the operation: the share of its diameter outside the bone, both grades, where to."""

    share: float
    four_step: int
    three_step: int
    direction: Direction


def breach(outside_mm: float, diameter_mm: float, direction: Direction) -> Breach:
    """Grade one screw.

    Parameters
    ----------
    outside_mm : how far it lies outside the bone, 0 or more
    diameter_mm : of the screw, above 0
    direction : where it went; NONE exactly when nothing is outside

    Raises
    ------
    ValueError
        When a length cannot be, or the direction contradicts it.

    Notes
    -----
    Four steps: 0 none, 1 under a quarter of the diameter, 2 from a quarter to a half, 3 over a half; 2 or more counted
    as incorrect in J Korean Neurosurg Soc 2012;52:459-465. Three steps: 0 inside, 1 under a half in canal or foramen,
    2 a half or more (common practice, no source). The two part at exactly a half: 2 of 0-3, and 2 of 0-2.
    """
    if outside_mm < 0 or diameter_mm <= 0:
        raise ValueError(f"needs 0 mm or more outside and a diameter above 0; found {outside_mm} and {diameter_mm}")
    if (direction is Direction.NONE) != (outside_mm <= TOLERANCE):
        raise ValueError(f"{outside_mm} mm outside the bone contradicts the direction {direction.value}")
    share = outside_mm / diameter_mm
    return Breach(share, four_step_grade(share), three_step_grade(share), direction)


def four_step_grade(share: float) -> int:
    """Grade 0 to 3 for a share of the diameter outside the bone (0 or more); 0.25 and 0.50 count as 2."""
    if share <= TOLERANCE:
        return 0
    if not at_least(share, 0.25):
        return 1
    return 2 if at_least(0.5, share) else 3


def three_step_grade(share: float) -> int:
    """Grade 0 to 2 for a share of the diameter in canal or foramen (0 or more); 0.50 counts as 2."""
    if share <= TOLERANCE:
        return 0
    return 2 if at_least(share, 0.5) else 1
