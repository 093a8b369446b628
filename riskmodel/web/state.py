"""What the pages share: models, the children in hand, the clock; and the frame around each page."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from starlette.exceptions import HTTPException
from starlette.requests import Request

from riskmodel.web.desk import Case, Desk
from riskmodel.web.door import Door
from riskmodel.web.kept import Store
from riskmodel.web.models import Models
from riskmodel.web.pages import Frame, Link
from riskmodel.web.planning import DICTIONARY, Department
from riskmodel.web.steps import Group

Clock = Callable[[], date]


@dataclass(frozen=True, slots=True)
class State:
    """Everything that outlives a request; `announce` shows the next start link to whoever holds the terminal."""

    models: Models
    groups: tuple[Group, ...]
    desk: Desk
    door: Door
    kept: Store
    department: Department
    clock: Clock
    announce: Callable[[str], None]

    @property
    def plans(self) -> bool:
        """Whether the models are of the anatomy that the planning rules know."""
        return self.models.dictionary.name == DICTIONARY

    def frame(self, title: str, *, here: str, address: str | None = None) -> Frame:
        """The frame of a page; with the address of a case, the pages about that case are in reach."""
        own = [page for page in _CASE_PAGES if self.plans or page not in _PLANNING] if address is not None else []
        pages = [("Desk", "/"), *((label, f"/case/{address}/{page}") for label, page in own), *_PAGES]
        links = tuple(Link(label, target, here=label == here) for label, target in pages)
        return Frame(title, links, self.models.band, self.models.cautions)


_PLANNING = (("Plans", "plans"), ("Sheets", "sheets"))
_CASE_PAGES = (("Child", "child"), ("Estimate", "estimate"), *_PLANNING)
_PAGES = (("Models", "/models"), ("Kept answers", "/kept"))


def state_of(request: Request) -> State:
    """What the pages share."""
    held: State = request.app.state.held
    return held


def case_of(request: Request) -> tuple[str, Case]:
    """The case that a request is about, with its address; assessed in full, and anew when the day has changed.

    Raises
    ------
    HTTPException
        404, when no such case is in hand.
    """
    state, (address, case) = state_of(request), held_case(request)
    if case.assessment.on != state.clock() or not case.assessment.measured:
        case = state.desk.changed(case, case.case_id, case.values, on=state.clock())
        state.desk.put(address, case)
    return address, case


def held_case(request: Request) -> tuple[str, Case]:
    """The case that a request is about, with its address, as it was last assessed.

    Raises
    ------
    HTTPException
        404, when no such case is in hand.
    """
    address = request.path_params["address"]
    case = state_of(request).desk.get(address)
    if case is None:
        raise HTTPException(404)
    return address, case


def planning_state(request: Request) -> tuple[State, str, Case]:
    """What the pages share, and the case that a request about planning is about, with its address.

    Raises
    ------
    HTTPException
        404, when no such case is in hand, or the models are of another anatomy.
    """
    state = state_of(request)
    if not state.plans:
        raise HTTPException(404)
    return state, *case_of(request)
