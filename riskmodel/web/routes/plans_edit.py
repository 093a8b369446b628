"""Where plans are typed, opened from a file, or saved; and measured paths taken from a table."""

from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import ClassVar

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from riskmodel.errors import PlanRefused
from riskmodel.plans.saving import plans_text
from riskmodel.web import form
from riskmodel.web.desk import Case
from riskmodel.web.pages import Page, respond
from riskmodel.web.plan_form import MOST_PLANS, PlanDraft, document_of, drafts
from riskmodel.web.planning import Planning, measured, opened
from riskmodel.web.state import State, planning_state


@dataclass(frozen=True, slots=True)
class PlansEditPage(Page):
    """`more`: whether a plan may be added; `paths`: measured paths held; `faults`: why a file could not be opened."""

    template: ClassVar[str] = "plans_edit.html.jinja"

    address: str
    case_id: str
    plans: tuple[PlanDraft, ...]
    more: bool
    paths: int
    faults: tuple[str, ...]


async def show(request: Request) -> Response:
    """The plans as forms; `?more` adds a blank one."""
    state, address, case = planning_state(request)
    return respond(_page(state, address, case, more="more" in request.query_params))


async def change(request: Request) -> Response:
    """Take all plans; then show the conference, or the forms again with one more plan or one less."""
    state, address, case = planning_state(request)
    sent = await form.read(request)
    document = document_of(sent, case.planning.document.get("decided", {}))
    out = form.text(sent, "take_out")
    if out:
        document["plan"] = [plan for plan in document["plan"] if str(plan.get("name")) != out]
    _hold(state, address, case, replace(case.planning, document=document))
    target = "plans/edit?more=1" if "more" in sent else "plans/edit" if out else "plans"
    return RedirectResponse(f"/case/{address}/{target}", HTTPStatus.SEE_OTHER)


async def open_file(request: Request) -> Response:
    """Take plans from a plans file (TOML), or measured paths from a table (CSV)."""
    state, address, case = planning_state(request)
    async with request.form(max_files=1, max_fields=1) as sent:
        file = sent.get("file")
        content = await file.read() if isinstance(file, UploadFile) else b""
        table = isinstance(file, UploadFile) and (file.filename or "").lower().endswith(".csv")
    try:
        planning = _with_paths(state, case, content) if table else replace(case.planning, document=opened(content))
    except PlanRefused as refused:
        faults = tuple(str(finding) for finding in refused.findings)
        return respond(_page(state, address, case, faults=faults), HTTPStatus.UNPROCESSABLE_ENTITY)
    _hold(state, address, case, planning)
    return RedirectResponse(f"/case/{address}/plans", HTTPStatus.SEE_OTHER)


async def save(request: Request) -> Response:
    """The plans as a file; its name says nothing of the child."""
    _, _, case = planning_state(request)
    headers = {"content-disposition": 'attachment; filename="plans.toml"'}
    return Response(plans_text(case.planning.document), media_type="application/toml", headers=headers)


def _with_paths(state: State, case: Case, content: bytes) -> Planning:
    corridors, findings = measured(content, state.department.dictionary, case.case_id)
    return replace(case.planning, corridors=corridors, corridor_findings=findings)


def _hold(state: State, address: str, case: Case, planning: Planning) -> None:
    state.desk.put(address, replace(case, planning=planning).unsigned())


def _page(state: State, address: str, case: Case, *, more: bool = False, faults: tuple[str, ...] = ()) -> PlansEditPage:
    held = drafts(case.planning.document, more=more)
    return PlansEditPage(
        frame=state.frame("Plans, typed", here="Plans", address=address),
        address=address,
        case_id=case.case_id,
        plans=held,
        more=len(held) < MOST_PLANS,
        paths=len(case.planning.corridors),
        faults=faults,
    )


ROUTES = (
    Route("/case/{address}/plans/edit", show, methods=["GET"]),
    Route("/case/{address}/plans/edit", change, methods=["POST"]),
    Route("/case/{address}/plans/open", open_file, methods=["POST"]),
    Route("/case/{address}/plans.toml", save, methods=["GET"]),
)
