"""What a request must be to reach a page: for this host, from our own pages, from a browser that was let in."""

from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers

from riskmodel.web.sessions import Sessions

SAFE = ("GET", "HEAD")
START = "/start/"
STATIC = "/static/"
LOOPBACK = "127.0.0.1"


class RequestRefused(Exception):
    """A request that does not reach a page; `title` and `says` are shown, and hold nothing of the request."""

    def __init__(self, status: HTTPStatus, title: str, says: str) -> None:
        self.status, self.title, self.says = status, title, says
        super().__init__(title)


@dataclass(frozen=True, slots=True)
class Door:
    """The names by which this app may be called, and who may call it."""

    port: int
    sessions: Sessions

    @property
    def hosts(self) -> tuple[str, ...]:
        """Host headers that mean this app. Another name that resolves to this machine is an attack (DNS rebinding)."""
        return f"{LOOPBACK}:{self.port}", f"localhost:{self.port}"

    @property
    def origins(self) -> tuple[str, ...]:
        """Origins of our own pages."""
        return tuple(f"http://{host}" for host in self.hosts)

    @property
    def cookie(self) -> str:
        """Name of the session's cookie: browsers do not tell ports apart, so the name does."""
        return f"riskmodel_{self.port}"

    @property
    def link(self) -> str:
        """The address that lets one browser in, once."""
        return f"{self.origins[0]}{START}{self.sessions.token}"

    def admit(self, method: str, path: str, headers: Headers) -> None:
        """Let a request pass.

        Raises
        ------
        RequestRefused
            When it is for another host, comes from another site, or from a browser that was not let in.
        """
        if headers.get("host", "") not in self.hosts:
            raise RequestRefused(HTTPStatus.MISDIRECTED_REQUEST, "Not this address", _OTHER_HOST)
        if not self._own(method, headers):
            raise RequestRefused(HTTPStatus.FORBIDDEN, "Not from this app", _OTHER_SITE)
        if path.startswith((START, STATIC)):
            return
        if not self.sessions.knows(_cookies(headers).get(self.cookie, "")):
            raise RequestRefused(HTTPStatus.FORBIDDEN, "This browser has not been let in", _NO_SESSION)

    def _own(self, method: str, headers: Headers) -> bool:
        """Whether our own page asks, or the person at the address bar.

        What changes something must name one of our origins. What only reads may come without, but not as a part of
        another site's page; a plain link from elsewhere opens a page, and the strict cookie decides.
        """
        site = headers.get("sec-fetch-site", "same-origin")
        if method not in SAFE:
            return headers.get("origin", "") in self.origins and site == "same-origin"
        return site in ("same-origin", "none") or headers.get("sec-fetch-mode") == "navigate"


def _cookies(headers: Headers) -> Mapping[str, str]:
    held: SimpleCookie = SimpleCookie()
    try:
        held.load(headers.get("cookie", ""))
    except CookieError:
        return {}
    return {name: morsel.value for name, morsel in held.items()}


_OTHER_HOST = "The app answers only to the address that the terminal shows."
_OTHER_SITE = "The app takes requests from its own pages only, never from another site's."
_NO_SESSION = (
    "Open the link that the terminal shows. Each link lets one browser in; when it has been used, the next one stands "
    "below it."
)
