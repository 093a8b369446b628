"""The desk: take a child in hand, by hand, from a case file, or from a pasted row; the children in hand."""

from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus
from typing import ClassVar

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from riskmodel.errors import CasesRefused
from riskmodel.web import form
from riskmodel.web.pages import Page, respond
from riskmodel.web.state import State, case_of, state_of
from riskmodel.web.taking import Taken, from_file, from_row
from riskmodel.web.told import tell_all


@dataclass(frozen=True, slots=True)
class InHand:
    """A child in hand: its address, its key, and each model's answer in a line."""

    address: str
    case_id: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DeskPage(Page):
    """`pasted` is given back when it could not be read; `faults` say why, or why a file could not."""

    template: ClassVar[str] = "desk.html.jinja"

    in_hand: tuple[InHand, ...]
    faults: tuple[str, ...]
    pasted: str


def page(state: State, *, faults: tuple[str, ...] = (), pasted: str = "") -> DeskPage:
    """The desk as it is now."""
    in_hand = tuple(
        InHand(address, case.case_id or "without a key", tuple(told.line for told in tell_all(state.models, estimates)))
        for address, case in state.desk
        for estimates in [case.assessment.estimates]
    )
    return DeskPage(state.frame("Desk", here="Desk"), in_hand, faults, pasted)


async def show(request: Request) -> Response:
    """The desk."""
    return respond(page(state_of(request)))


async def new(request: Request) -> Response:
    """Take an unknown child in hand."""
    return _to_child(state_of(request), Taken("", {}))


async def open_file(request: Request) -> Response:
    """Take in hand the child of a case file."""
    async with request.form(max_files=1, max_fields=1) as held:
        content = await _content(held)
    state = state_of(request)
    return _taken(state, lambda: from_file(content, state.models.dictionary), "")


async def paste(request: Request) -> Response:
    """Take in hand the child of a row of the registry."""
    pasted = form.text(await form.read(request), "row")
    state = state_of(request)
    asked = frozenset(name for group in state.groups for name in group.names)
    return _taken(state, lambda: from_row(pasted, state.models.dictionary, asked), pasted)


async def put_away(request: Request) -> Response:
    """Hold a child no longer."""
    address, _ = case_of(request)
    state_of(request).desk.put_away(address)
    return RedirectResponse("/", HTTPStatus.SEE_OTHER)


async def _content(held: FormData) -> bytes:
    file = held.get("file")
    return await file.read() if isinstance(file, UploadFile) else b""


def _taken(state: State, take: Callable[[], Taken], pasted: str) -> Response:
    try:
        return _to_child(state, take())
    except CasesRefused as refused:
        faults = tuple(str(finding) for finding in refused.findings)
        return respond(page(state, faults=faults, pasted=pasted), HTTPStatus.UNPROCESSABLE_ENTITY)


def _to_child(state: State, taken: Taken) -> Response:
    address = state.desk.take_up(taken.case_id, taken.values, on=state.clock(), notices=taken.notices)
    return RedirectResponse(f"/case/{address}/child", HTTPStatus.SEE_OTHER)


ROUTES = (
    Route("/", show, methods=["GET"]),
    Route("/new", new, methods=["POST"]),
    Route("/open", open_file, methods=["POST"]),
    Route("/paste", paste, methods=["POST"]),
    Route("/case/{address}/put-away", put_away, methods=["POST"]),
)
