"""The app as one value: routes, the guard around them, and what they share."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from http import HTTPStatus
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response

from riskmodel import dictionary as dictionaries
from riskmodel.plans import read_limits, read_stock
from riskmodel.web.desk import Desk
from riskmodel.web.door import Door, RequestRefused
from riskmodel.web.guard import Guard
from riskmodel.web.kept import Store
from riskmodel.web.models import Models
from riskmodel.web.pages import refused
from riskmodel.web.planning import DICTIONARY, Department
from riskmodel.web.routes import child, desk, estimate, kept, kept_one, models, plans, plans_edit, sheets, start, static
from riskmodel.web.sessions import Sessions
from riskmodel.web.state import Clock, State
from riskmodel.web.steps import groups

_PAGES = (static, start, desk, child, estimate, plans, plans_edit, sheets, models, kept, kept_one)
ROUTES = tuple(route for page in _PAGES for route in page.ROUTES)
_NOT_FOUND = (
    "There is no such page, or the child is no longer in hand: children are held until the app ends, and of very many "
    "only the last ones. Open the case file again from the desk."
)


def _to_terminal(line: str) -> None:
    sys.stderr.write(f"{line}\n")
    sys.stderr.flush()


@dataclass(frozen=True, slots=True)
class Settings:
    """How an app is run: its port, the file of kept answers, the clock, where a line for the terminal goes.

    `limits`, `stock`: files of the department in place of what is shipped.
    """

    port: int
    kept: Path
    clock: Clock = date.today
    limits: Path | None = None
    stock: Path | None = None
    tell: Callable[[str], None] = _to_terminal


def create(held: Models, settings: Settings) -> Starlette:
    """An app for these models; nothing of it is shared with another app.

    Raises
    ------
    PlanRefused
        When the department's files of limits or stock cannot be read.
    """
    door = Door(settings.port, Sessions())
    app = Starlette(
        routes=list(ROUTES),
        middleware=[Middleware(Guard, door=door, refuse=refused, log=settings.tell)],
        exception_handlers={HTTPException: _no_page, RequestRefused: _refused},
    )
    app.state.held = State(
        models=held,
        groups=groups(held),
        desk=Desk(held),
        door=door,
        kept=Store(settings.kept),
        department=Department(dictionaries.read(DICTIONARY), read_limits(settings.limits), read_stock(settings.stock)),
        clock=settings.clock,
        announce=lambda link: settings.tell(f"For another browser: {link}"),
    )
    return app


async def _refused(_: Request, error: Exception) -> Response:
    if not isinstance(error, RequestRefused):
        raise error
    return refused(error)


async def _no_page(_: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    status = HTTPStatus(error.status_code)
    says = _NOT_FOUND if status is HTTPStatus.NOT_FOUND else "The page does not take such a request."
    return refused(RequestRefused(status, status.phrase, says))
