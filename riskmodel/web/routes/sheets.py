"""Sheets: the surgeon's page after sides were read back, and the family's sheet as ticked; preview, print, PDF."""

import re
from base64 import b64encode
from dataclasses import dataclass, replace
from hashlib import sha256
from http import HTTPStatus
from typing import ClassVar

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from riskmodel.documents import family, surgeon
from riskmodel.documents.scored import Scored, score
from riskmodel.errors import DocumentRefused
from riskmodel.plans import contradicted
from riskmodel.web import form, keeping
from riskmodel.web.desk import Case
from riskmodel.web.pages import Page, respond
from riskmodel.web.planning import summary_of
from riskmodel.web.sheet_form import Sided, Tick, TickGroup, groups, language_choices, options_of, sided
from riskmodel.web.state import State, planning_state

MOST_OUTCOMES = 2  # that a family's sheet speaks of
PDF = "application/pdf"


@dataclass(frozen=True, slots=True)
class SheetsPage(Page):
    """`sides`: what is read back; `read_back_by`, `talked_by`: initials, empty while nobody has; `faults` of a form.

    `answered`: whether there are answers to put on a sheet; `spoken_of`: titles of the models on the family's sheet.
    """

    template: ClassVar[str] = "sheets.html.jinja"

    address: str
    case_id: str
    sides: tuple[Sided, ...]
    read_back_by: str
    groups: tuple[TickGroup, ...]
    languages: tuple[Tick, ...]
    talked_by: str
    answered: bool
    spoken_of: tuple[str, ...]
    faults: tuple[str, ...]


async def show(request: Request) -> Response:
    """What can be put on paper, and what has to be said first."""
    return respond(_page(*planning_state(request)))


async def read_back(request: Request) -> Response:
    """Initials of who read sides and values back against the images."""
    state, address, case = planning_state(request)
    by = keeping.initials(form.text(await form.read(request), "initials"))
    if by is None:
        return _refuse(state, address, case, f"Missing: your {keeping.INITIALS}.")
    if case.assessment.faults or case.unconfirmed:
        return _refuse(state, address, case, "Values have to be mended or confirmed first, on the child's page.")
    state.desk.put(address, replace(case, read_back_by=by))
    return _back(address)


async def tick(request: Request) -> Response:
    """What the family's sheet shall hold, in which language, and who talked it through."""
    state, address, case = planning_state(request)
    sent = await form.read(request)
    typed = form.text(sent, "initials")
    by = keeping.initials(typed)
    if typed and by is None:
        return _refuse(state, address, case, f"Found no {keeping.INITIALS}; leave them out while it is a draft.")
    ticked = replace(case, family=options_of(sent, by or "", state.clock()))
    try:
        if case.assessment.estimates:
            _summarised(state, ticked)
    except DocumentRefused as refused:
        return _refuse(state, address, case, f"{refused}.")
    state.desk.put(address, ticked)
    return _back(address)


async def surgeon_html(request: Request) -> Response:
    """The surgeon's page, marked while nobody has read it back."""
    return _document("Surgeon's page", surgeon.to_html(_surgeon(*_answered(request))))


async def surgeon_pdf(request: Request) -> Response:
    """The surgeon's page on paper; only after sides were read back.

    Raises
    ------
    HTTPException
        409, when nobody has.
    """
    state, case = _answered(request)
    if not case.read_back_by:
        raise HTTPException(HTTPStatus.CONFLICT)
    return _file(surgeon.to_pdf(_surgeon(state, case)), "surgeon.pdf")


async def family_html(request: Request) -> Response:
    """The family's sheet."""
    return _document("Family's sheet", family.to_html(_family(*_answered(request))))


async def family_pdf(request: Request) -> Response:
    """The family's sheet on paper."""
    return _file(family.to_pdf(_family(*_answered(request))), "family.pdf")


def _answered(request: Request) -> tuple[State, Case]:
    """What a sheet is made from.

    Raises
    ------
    HTTPException
        409, while there is no answer.
    """
    state, _, case = planning_state(request)
    if not case.assessment.estimates:
        raise HTTPException(HTTPStatus.CONFLICT)
    return state, case


def _scored(state: State, case: Case) -> list[Scored]:
    on = state.clock()
    return [score(scorer, case.values, on=on, case_id=case.case_id) for scorer in state.models.scorers]


def _surgeon(state: State, case: Case) -> surgeon.SurgeonPage:
    summary = summary_of(state.department, case.asked, state.models.scorers, state.clock())
    return surgeon.summarise(_scored(state, case), summary, read_back_by=case.read_back_by)


def _family(state: State, case: Case) -> family.FamilySheet:
    try:
        return _summarised(state, case)
    except DocumentRefused:
        # Ticked before the values changed: the page with the ticks says what does not go together.
        raise HTTPException(HTTPStatus.CONFLICT) from None


def _summarised(state: State, case: Case) -> family.FamilySheet:
    contradicts = contradicted(summary_of(state.department, case.asked, (), state.clock()), case.values)
    answers = [replace(answer, plan_contradicts=contradicts) for answer in _scored(state, case)[:MOST_OUTCOMES]]
    return family.summarise(answers, case.family, on=state.clock())


def _document(title: str, html: str) -> Response:
    """A document as it goes to paper, closed off by a policy of its own; its title says nothing of the child."""
    html = re.sub(r"<title>.*?</title>", f"<title>{title}</title>", html, count=1, flags=re.DOTALL)
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    digest = b64encode(sha256((style[1] if style else "").encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    return HTMLResponse(html, headers={"content-security-policy": f"{policy}; frame-ancestors 'none'"})


def _file(content: bytes, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=PDF, headers=headers)


def _back(address: str) -> Response:
    return RedirectResponse(f"/case/{address}/sheets", HTTPStatus.SEE_OTHER)


def _refuse(state: State, address: str, case: Case, fault: str) -> Response:
    return respond(_page(state, address, case, faults=(fault,)), HTTPStatus.UNPROCESSABLE_ENTITY)


def _page(state: State, address: str, case: Case, *, faults: tuple[str, ...] = ()) -> SheetsPage:
    bundles = [scorer.bundle for scorer in state.models.scorers]
    return SheetsPage(
        frame=state.frame("Sheets", here="Sheets", address=address),
        address=address,
        case_id=case.case_id,
        sides=sided(state.models.dictionary.variables, case),
        read_back_by=case.read_back_by,
        groups=groups(case.family),
        languages=language_choices(case.family),
        talked_by=case.family.initials,
        answered=bool(case.assessment.estimates),
        spoken_of=tuple(bundle.title for bundle in bundles[:MOST_OUTCOMES]),
        faults=faults,
    )


ROUTES = (
    Route("/case/{address}/sheets", show, methods=["GET"]),
    Route("/case/{address}/sheets/read-back", read_back, methods=["POST"]),
    Route("/case/{address}/sheets/family", tick, methods=["POST"]),
    Route("/case/{address}/sheets/surgeon.html", surgeon_html, methods=["GET"]),
    Route("/case/{address}/sheets/surgeon.pdf", surgeon_pdf, methods=["GET"]),
    Route("/case/{address}/sheets/family.html", family_html, methods=["GET"]),
    Route("/case/{address}/sheets/family.pdf", family_pdf, methods=["GET"]),
)
