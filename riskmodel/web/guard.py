"""Around every page: admission, a limit to what is sent, headers that close the page off, and no fault that talks."""

from collections.abc import Callable
from http import HTTPStatus

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from riskmodel.incident import incident
from riskmodel.web.door import Door, RequestRefused

MOST_BYTES = 2**20
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), interest-cohort=()",
    # Not no-referrer: with that, browsers send "Origin: null" with our own forms.
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # Pages hold a patient's values: nothing of them stays on the disk.
    "cache-control": "no-store",
}
Refuse = Callable[[RequestRefused], Response]
Log = Callable[[str], None]


class Guard:
    """Middleware between the server and the pages.

    Parameters
    ----------
    app : the pages
    door : who may pass
    refuse : the page of a refusal
    log : takes one line per internal fault: kind, place and incident number, no message and no value
    """

    def __init__(self, app: ASGIApp, door: Door, refuse: Refuse, log: Log) -> None:
        self.app, self.door, self.refuse, self.log = app, door, refuse, log

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request; anything but plain HTTP is left unanswered."""
        if scope["type"] == "http":
            await self._serve(scope, receive, _Closed(send))
        elif scope["type"] == "lifespan":
            await self.app(scope, receive, send)

    async def _serve(self, scope: Scope, receive: Receive, send: "_Closed") -> None:
        headers = Headers(scope=scope)
        try:
            self.door.admit(scope["method"], scope["path"], headers)
            _announced(headers)
            await self.app(scope, _limited(receive), send)
        except RequestRefused as refused:
            await self._answer(refused, scope, receive, send)
        except ClientDisconnect:
            return
        except Exception as error:  # the last door: no traceback, no message, no value
            held = incident(error)
            self.log(f"internal fault: {held}")
            fault = RequestRefused(HTTPStatus.INTERNAL_SERVER_ERROR, f"Incident {held.number}", _FAULT)
            await self._answer(fault, scope, receive, send)

    async def _answer(self, refused: RequestRefused, scope: Scope, receive: Receive, send: "_Closed") -> None:
        if not send.begun:
            await self.refuse(refused)(scope, receive, send)


class _Closed:
    """A `send` that closes the page off by headers; a page may set its own in their place."""

    def __init__(self, send: Send) -> None:
        self.send, self.begun = send, False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.begun = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await self.send(message)


def _announced(headers: Headers) -> None:
    length = headers.get("content-length", "0")
    if not (length.isascii() and length.isdigit()) or len(length) > 12 or int(length) > MOST_BYTES:
        raise _too_large()


def _limited(receive: Receive) -> Receive:
    """A `receive` that counts what arrives, whatever was announced."""
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BYTES:
            raise _too_large()
        return message

    return counted


def _too_large() -> RequestRefused:
    says = f"What was sent is larger than {MOST_BYTES // 2**20} MiB, more than any form or case file needs."
    return RequestRefused(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, "Too large", says)


_FAULT = (
    "The program met a fault of its own and could not finish this page. What was entered before is still held; go back "
    "and try again. The terminal shows where the fault lies: report it with the incident number."
)
