"""What was believed of a coefficient before the cohort was seen, and on what grounds."""

from dataclasses import dataclass
from enum import Enum

BASE = "base"


class Grounds(Enum):
    """What a prior rests on."""

    SOURCED = "sourced"
    OWN = "own"
    COMMON_PRACTICE = "cp"


class Per(Enum):
    """What one step of the coefficient is: the dictionary's unit (for `log2`, a doubling), or a level."""

    UNIT = "unit"
    LEVEL = "level"


class Confidence(Enum):
    """How firmly the source stands."""

    HIGH = "H"
    MODERATE = "M"
    LOW = "L"


@dataclass(frozen=True, slots=True)
class Prior:
    """A Normal prior on the log-odds of one term, or of one of its columns.

    `term` is the variable, an interaction as the protocol writes it (factors joined by " x "), or "base": the
    log-odds with every column at its mean. `column` is a level, a group of levels, a state; None speaks for every
    column of the term but its states and a spline's bends. `sd` is above 0.
    """

    term: str
    column: str | None
    mean: float
    sd: float
    per: Per
    source: str
    confidence: Confidence
    grounds: Grounds

    @property
    def keeps_sd(self) -> bool:
        """Whether the SD is used as it is: a published source of high or moderate confidence, or the base.

        Every other entry gives the mean only, and takes its SD from the scale that is learned for its block.
        """
        sourced = self.grounds is Grounds.SOURCED and self.confidence is not Confidence.LOW
        return sourced or self.term == BASE
