"""Who reaches a page, and what leaves with it. One test for each promise of security."""

import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from riskmodel.scoring import Scorer
from riskmodel.web.app import ROUTES
from riskmodel.web.door import LOOPBACK
from riskmodel.web.guard import MOST_BYTES
from riskmodel.web.sessions import MOST_SESSIONS, Sessions
from tests.riskmodel.web.client import HOST, ORIGIN, PORT, Answer, Client, bundle_files, client

# Values that stand nowhere else, so that finding one again means that it leaked.
SECRET_KEY, SECRET_VALUE = "ZQ-77313", "7.3319"
FILLED = {"case_id": SECRET_KEY, "age_years": SECRET_VALUE, "condition": "down", "upper_level": "C1"}


@pytest.fixture
def outside() -> Client:
    """A browser that was not let in."""
    return client()


@pytest.fixture
def inside() -> Client:
    return client().let_in()


def policy(answer: Answer) -> dict[str, str]:
    parts = (part.strip().partition(" ") for part in answer.header("content-security-policy").split(";"))
    return {name: value for name, _, value in parts}


def test_the_policy_allows_our_own_files_and_nothing_else(inside: Client) -> None:
    """Directives as in the W3C's Content Security Policy Level 3."""
    held = policy(inside.get("/"))
    assert held["default-src"] == "'none'"
    own = {name for name, value in held.items() if value == "'self'"}
    assert own == {"script-src", "style-src", "img-src", "connect-src", "form-action"}
    assert held["base-uri"] == held["frame-ancestors"] == "'none'"
    assert set(held.values()) == {"'none'", "'self'"}


def test_every_kind_of_answer_is_closed_off(inside: Client, outside: Client) -> None:
    for answer in (inside.get("/"), inside.get("/nowhere"), outside.get("/"), inside.get("/", host="evil.example")):
        assert policy(answer)["default-src"] == "'none'"
        assert answer.header("x-content-type-options") == "nosniff"
        assert answer.header("cross-origin-resource-policy") == "same-origin"
        assert answer.header("referrer-policy") == "same-origin"
        assert answer.header("cache-control") == "no-store"


def test_no_page_has_a_script_style_or_handler_of_its_own(inside: Client) -> None:
    at = inside.new_child(FILLED)
    for path in ("/", f"{at}/child", "/nowhere"):
        text = inside.get(path).text
        assert re.findall(r"<script(?![^>]*\bsrc=)", text) == []
        assert re.findall(r"<style|\sstyle=|\son[a-z]+=|javascript:", text) == []
        assert re.findall(r"(?:src|href|action)=\"(?:[a-z]+:)?//", text) == []


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"[::1]:{PORT}", ""]
)
def test_another_name_for_this_machine_reaches_nothing(inside: Client, host: str) -> None:
    """DNS rebinding: a name of somebody else's that resolves to the loopback address."""
    for path in ("/", inside.start, "/static/0/app.css"):
        answer = inside.get(path, host=host)
        assert answer.status == 421
        assert "set-cookie" not in dict(answer.headers)


@pytest.mark.parametrize("host", [HOST, f"localhost:{PORT}"])
def test_its_own_names_reach_it(inside: Client, host: str) -> None:
    assert inside.get("/", host=host).status == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": ""},
        {"origin": f"http://127.0.0.1:{PORT + 1}"},
        {"origin": f"https://127.0.0.1:{PORT}"},
        {"origin": ORIGIN, "sec-fetch-site": "cross-site"},
        {"origin": ORIGIN, "sec-fetch-site": "same-site"},
    ],
)
def test_a_post_from_another_site_changes_nothing(inside: Client, headers: dict[str, str]) -> None:
    answer = inside.request("POST", "/new", headers=headers)
    assert answer.status == 403
    assert len(inside.app.state.held.desk) == 0


def test_a_post_from_our_own_page_is_taken(inside: Client) -> None:
    answer = inside.post("/new", origin=f"http://localhost:{PORT}", sec_fetch_site="same-origin")
    assert answer.status == 303


def test_another_site_can_link_to_a_page_but_not_read_or_embed_one(inside: Client) -> None:
    for site in ("cross-site", "same-site"):
        assert inside.get("/", sec_fetch_site=site, sec_fetch_mode="no-cors").status == 403
        assert inside.get("/", sec_fetch_site=site, sec_fetch_mode="cors").status == 403
        assert inside.get("/", sec_fetch_site=site, sec_fetch_mode="navigate").status == 200
    assert inside.get("/").header("access-control-allow-origin") == ""


def test_without_a_session_no_page_is_given(outside: Client) -> None:
    for route in ROUTES:
        assert isinstance(route, Route)
        path = re.sub(r"\{\w+\}", "0", route.path)
        if path.startswith(("/start/", "/static/")):
            continue
        for method in sorted((route.methods or set()) - {"HEAD"}):
            answer = outside.request(method, path)
            assert answer.status == 403, (method, path)
            assert "has not been let in" in answer.words


@pytest.mark.parametrize("value", ["", "guess", "ä", '"', "a=b; c"])
def test_a_guessed_cookie_is_no_session(outside: Client, value: str) -> None:
    assert outside.request("GET", "/", headers={"cookie": f"riskmodel_{PORT}={value}"}).status == 403


def test_the_start_link_lets_one_browser_in_once_and_leaves_a_clean_address(outside: Client) -> None:
    link = outside.start
    answer = outside.get(link)
    assert (answer.status, answer.header("location")) == (303, "/")
    cookie = answer.header("set-cookie").lower()
    assert {"httponly", "samesite=strict", "path=/"} <= {part.strip() for part in cookie.split(";")}
    assert "max-age" not in cookie
    assert "expires" not in cookie
    other = Client(outside.app, outside.told)
    assert other.get(link).status == 403
    assert other.cookies == {}
    assert other.get(other.start).status == 303
    assert other.get("/").status == outside.get("/").status == 200


def test_the_next_link_is_shown_in_the_terminal_when_one_was_used(outside: Client) -> None:
    outside.let_in()
    assert outside.told == [f"For another browser: {ORIGIN}{outside.start}"]


def test_a_page_fetched_ahead_uses_up_no_link(outside: Client) -> None:
    link = outside.start
    assert outside.get(link, sec_purpose="prefetch").status == 403
    assert outside.request("HEAD", link, headers={"origin": ORIGIN}).status in (403, 405)
    assert outside.get(link).status == 303


def test_sessions_are_not_guessed_and_the_first_is_forgotten_when_there_are_too_many() -> None:
    sessions = Sessions()
    assert sessions.exchange("guess") is None
    secrets = [sessions.exchange(sessions.token) or "" for _ in range(MOST_SESSIONS + 1)]
    assert len(set(secrets)) == MOST_SESSIONS + 1
    assert [sessions.knows(secret) for secret in secrets] == [False] + [True] * MOST_SESSIONS
    assert all(len(secret) >= 43 for secret in secrets)  # 256 bits in base64


@pytest.mark.parametrize("announced", [True, False])
def test_an_upload_beyond_the_limit_is_refused_whatever_was_announced(inside: Client, *, announced: bool) -> None:
    body = b"row=" + b"x" * MOST_BYTES
    headers = {"content-type": "application/x-www-form-urlencoded"}
    if not announced:
        headers["content-length"] = "10"
    answer = inside.request("POST", "/paste", body=body, headers=headers, chunk=65536)
    assert answer.status == 413
    assert "larger than 1 MiB" in answer.words


@pytest.mark.parametrize("length", ["-1", "1e3", "9" * 5000, "x"])
def test_a_length_that_is_no_length_is_refused(inside: Client, length: str) -> None:
    assert inside.request("POST", "/paste", headers={"content-length": length}).status == 413


def test_a_form_of_very_many_fields_is_refused(inside: Client) -> None:
    answer = inside.post("/paste", {"row": ["x"] * 3000})
    assert answer.status == 400
    assert inside.told[1:] == []


def test_no_value_of_a_child_is_in_an_address_a_title_or_the_terminal(inside: Client) -> None:
    at = inside.new_child(FILLED)
    answers = [
        inside.post(f"{at}/child", FILLED),
        inside.post(f"{at}/answer", FILLED),
        *(inside.get(path) for path in (f"{at}/child", "/", f"{at}/case.toml")),
        inside.upload(
            "/open", f'format = 1\ncase_id = "{SECRET_KEY}"\n[values]\nage_years = {SECRET_VALUE}\n'.encode()
        ),
        inside.post("/paste", {"row": f"case_id,age_years\n{SECRET_KEY},{SECRET_VALUE}"}),
    ]
    assert SECRET_KEY in inside.get(f"{at}/child").text  # or the test would find nothing anywhere
    for answer in answers:
        outside_the_page = " ".join(value for _, value in answer.headers)
        if "<title>" in answer.text:
            outside_the_page += answer.title
        assert SECRET_KEY not in outside_the_page
        assert SECRET_VALUE not in outside_the_page
    assert SECRET_KEY not in "".join(inside.told)
    assert SECRET_VALUE not in "".join(inside.told)


def test_a_fault_of_our_own_tells_an_incident_number_and_nothing_of_the_child(
    inside: Client, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    at = inside.new_child(FILLED)

    def fault(*_: object, **values: object) -> None:
        raise KeyError(f"{SECRET_KEY} {SECRET_VALUE}", values)

    monkeypatch.setattr(Scorer, "score_table", fault)
    answer = inside.post(f"{at}/answer", FILLED)
    assert answer.status == 500
    line = inside.told[-1]
    found = re.fullmatch(r"internal fault: KeyError at test_guard\.py:\d+ \(incident ([0-9a-f]{8})\)", line)
    assert found, line
    assert f"Incident {found[1]}" in answer.words
    out, err = capfd.readouterr()
    for text in (answer.text, line, out, err):
        assert SECRET_KEY not in text
        assert SECRET_VALUE not in text
        assert "Traceback" not in text
    monkeypatch.undo()
    assert SECRET_VALUE in inside.get(f"{at}/child").text  # what was entered before is still held


def test_a_fault_after_the_answer_began_ends_it_without_a_second_one(inside: Client) -> None:
    class Half(Response):
        async def __call__(self, scope: object, receive: object, send: object) -> None:
            await super().__call__(scope, receive, send)  # type: ignore[arg-type]
            raise ValueError(SECRET_KEY)

    async def half(_: Request) -> Response:
        return Half("half")

    inside.app.router.routes.append(Route("/half", half))
    assert inside.get("/half").text == "half"
    assert "incident" in inside.told[-1]


def test_a_page_that_is_not_there_does_not_repeat_what_was_asked(inside: Client) -> None:
    answer = inside.get(f"/{SECRET_KEY}")
    assert answer.status == 404
    assert SECRET_KEY not in answer.text


@pytest.fixture
def served() -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The app as a person starts it, and the link that it prints."""
    command = [sys.executable, "-c", "from riskmodel.cli import main; main()", "serve", "--port", "0"]
    process = subprocess.Popen(
        [*command, *map(str, bundle_files())], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        yield process, process.stdout.readline().strip()
    finally:
        process.kill()
        process.communicate()


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="the kernel's table of sockets is read (Linux)")
def test_it_listens_on_the_loopback_address_only(served: tuple[subprocess.Popen[str], str]) -> None:
    _, link = served
    found = re.fullmatch(rf"http://{re.escape(LOOPBACK)}:(\d+)/start/[\w-]{{43}}", link)
    assert found, link
    port = int(found[1])
    with socket.create_connection((LOOPBACK, port), timeout=10):
        pass
    assert _listening("tcp", port) == [f"0100007F:{port:04X}"]  # 127.0.0.1, as the kernel writes it
    assert _listening("tcp6", port) == []


def _listening(kind: str, port: int) -> list[str]:
    """Addresses on which this machine listens at a port; state 0A is LISTEN (Linux, proc(5))."""
    table = Path("/proc/net") / kind
    rows = [line.split() for line in table.read_text().splitlines()[1:]] if table.exists() else []
    return [row[1] for row in rows if row[3] == "0A" and row[1].endswith(f":{port:04X}")]
