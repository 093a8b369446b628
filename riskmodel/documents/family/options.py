"""What the clinician ticks: nothing is printed about a choice that is not open to this child."""

from dataclasses import dataclass
from datetime import date
from enum import Enum


class Choice(Enum):
    """Ways that may be open to the family."""

    THIS_OPERATION = "this_operation"
    OTHER_OPERATION = "other_operation"
    BRACE = "brace"
    SCAN_AGAIN = "scan_again"
    NOT_NOW = "not_now"


WAITING = frozenset({Choice.BRACE, Choice.SCAN_AGAIN, Choice.NOT_NOW})


class Avoid(Enum):
    """What to leave out, or to mind, until the operation."""

    JUMPING = "jumping"
    CONTACT_SPORT = "contact_sport"
    RIDES = "rides"
    NECK_HANDLING = "neck_handling"
    SLEEP_MEDICINE = "sleep_medicine"


@dataclass(frozen=True, slots=True)
class FamilyOptions:
    """Ticks of one sheet; all are off until the clinician turns them on.

    `reasons`: print what moved the estimate. `halo`: the child will wear one. `joined_skull`: the fusion takes in the
    skull. `initials` and `talked_on` together say that the sheet was talked through; without both it is a draft.
    """

    choices: tuple[Choice, ...] = ()
    avoid: tuple[Avoid, ...] = ()
    reasons: bool = False
    growing_up: bool = False
    young_person: bool = False
    halo: bool = False
    joined_skull: bool = False
    initials: str = ""
    talked_on: date | None = None
    language: str = "en"

    @property
    def talked_through(self) -> bool:
        """Whether somebody answers for the talk, with initials and a date."""
        return bool(self.initials.strip()) and self.talked_on is not None
