"""The link from the terminal: its token is exchanged for a cookie, and the address is left clean."""

from http import HTTPStatus

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from riskmodel.web.door import RequestRefused
from riskmodel.web.pages import refused
from riskmodel.web.state import state_of

_USED = "Each link lets one browser in. This one was used before or is not the last one: the terminal shows the next."


async def start(request: Request) -> Response:
    """Let this browser in. A look ahead of the click uses up no token."""
    door = state_of(request).door
    ahead = request.method == "HEAD" or "prefetch" in request.headers.get("sec-purpose", "")
    secret = None if ahead else door.sessions.exchange(request.path_params["token"])
    if secret is None:
        return refused(RequestRefused(HTTPStatus.FORBIDDEN, "This link lets nobody in", _USED))
    answer = RedirectResponse("/", HTTPStatus.SEE_OTHER)
    # No "secure": the app speaks plain HTTP, on the loopback address only.
    answer.set_cookie(door.cookie, secret, httponly=True, samesite="strict", path="/")
    state_of(request).announce(door.link)
    return answer


ROUTES = (Route("/start/{token}", start, methods=["GET"]),)
