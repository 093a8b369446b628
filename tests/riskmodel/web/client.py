"""A browser's part in a conversation with the app, in process: one request at a time, cookies kept."""

import asyncio
import atexit
import json
import re
import shutil
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from html import unescape
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

from starlette.applications import Starlette
from starlette.types import Message

from riskmodel import bundle
from riskmodel.web import app as apps
from riskmodel.web import models
from riskmodel.web.door import Door
from tests import demonstration

PORT = 8417
HOST = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{HOST}"
ON = date(2026, 12, 1)
Fields = Mapping[str, str | Sequence[str]]


NAMES = ("revision_24m", "fixation_failure_24m")


@cache
def bundle_files() -> tuple[Path, ...]:
    """The bundles of both demonstration models, as files."""
    folder = Path(tempfile.mkdtemp(prefix="riskmodel-"))
    atexit.register(shutil.rmtree, folder)
    paths = tuple(folder / f"{name}.riskmodel.json" for name in NAMES)
    for name, path in zip(NAMES, paths, strict=True):
        bundle.write(demonstration.bundle(name), path)
    return paths


@cache
def demonstration_models() -> models.Models:
    """Both demonstration models, side by side."""
    return models.load(bundle_files())


@dataclass(frozen=True)
class Answer:
    """A response."""

    status: int
    headers: list[tuple[str, str]]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def words(self) -> str:
        """The text of the page without its markup."""
        return " ".join(unescape(re.sub(r"<[^>]*>", " ", self.text)).split())

    @property
    def title(self) -> str:
        return unescape(self.text.split("<title>")[1].split("</title>")[0])

    @property
    def json(self) -> Any:
        return json.loads(self.body)

    def header(self, name: str) -> str:
        return next((value for key, value in self.headers if key == name), "")


@dataclass
class Client:
    """One browser. `told` is what the terminal was shown."""

    app: Starlette
    told: list[str]
    cookies: dict[str, str] = field(default_factory=dict)

    def request(
        self,
        method: str,
        path: str,
        *,
        body: bytes = b"",
        headers: Mapping[str, str] | None = None,
        chunk: int | None = None,
    ) -> Answer:
        own = {"host": HOST, "content-length": str(len(body)), **({"origin": ORIGIN} if method != "GET" else {})}
        if self.cookies:
            own["cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        own |= headers or {}
        answer = asyncio.run(_exchange(self.app, method, path, own, body, chunk or max(len(body), 1)))
        for name, value in answer.headers:
            if name == "set-cookie":
                self.cookies |= {key: morsel.value for key, morsel in SimpleCookie(value).items()}
        return answer

    def get(self, path: str, **headers: str) -> Answer:
        return self.request("GET", path, headers={name.replace("_", "-"): value for name, value in headers.items()})

    def post(self, path: str, fields: Fields | None = None, **headers: str) -> Answer:
        body = urlencode(fields or {}, doseq=True).encode()
        kind = {"content-type": "application/x-www-form-urlencoded"}
        more = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.request("POST", path, body=body, headers=kind | more)

    def upload(self, path: str, content: bytes, name: str = "case.toml") -> Answer:
        head = f'--edge\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'.encode()
        kind = {"content-type": "multipart/form-data; boundary=edge"}
        return self.request("POST", path, body=head + content + b"\r\n--edge--\r\n", headers=kind)

    def let_in(self) -> "Client":
        assert self.get(self.start).status == 303
        return self

    @property
    def start(self) -> str:
        """The path of the start link that has not been used yet."""
        door: Door = self.app.state.held.door
        return urlsplit(door.link).path

    def new_child(self, fields: Fields | None = None) -> str:
        """Take a child in hand, fill in the fields, and return the path that its pages begin with."""
        at = self.post("/new").header("location").removesuffix("/child")
        if fields:
            assert self.post(f"{at}/child", fields).status == 303
        return at


async def _exchange(
    app: Starlette, method: str, path: str, headers: Mapping[str, str], body: bytes, chunk: int
) -> Answer:
    place, _, query = path.partition("?")
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": place,
        "raw_path": place.encode(),
        "query_string": query.encode(),
        "headers": [(name.lower().encode(), value.encode("latin-1")) for name, value in headers.items()],
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", PORT),
    }
    parts = [body[at : at + chunk] for at in range(0, len(body), chunk)] or [b""]
    sent: list[Message] = []

    async def receive() -> Message:
        if not parts:
            return {"type": "http.disconnect"}
        return {"type": "http.request", "body": parts.pop(0), "more_body": bool(parts)}

    async def send(message: Message) -> None:
        sent.append(message)

    await app(scope, receive, send)
    begun = [message for message in sent if message["type"] == "http.response.start"]
    assert len(begun) == 1, "one response to one request"
    content = b"".join(message.get("body", b"") for message in sent)
    return Answer(begun[0]["status"], [(k.decode(), v.decode("latin-1")) for k, v in begun[0]["headers"]], content)


def client(
    held: models.Models | None = None, *, clock: Callable[[], date] = lambda: ON, kept: Path | None = None
) -> Client:
    """A browser that was not let in yet, and an app of its own."""
    told: list[str] = []
    app = apps.create(
        held or demonstration_models(), apps.Settings(PORT, kept or Path("nowhere"), clock, tell=told.append)
    )
    return Client(app, told)
