"""What another site can do to the app in a real browser: nothing."""

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import Page, expect

from riskmodel.web.desk import Desk
from tests.browser.pages import enter, every_page, open_child
from tests.browser.serving import Served

pytestmark = pytest.mark.browser


@pytest.fixture
def elsewhere(served: Served) -> Iterator[str]:
    """A page of somebody else's on this machine (same site, another origin) that goes for the app."""
    markup = f"""<!doctype html><title>elsewhere</title>
    <form id="post" method="post" action="{served.address}/new"></form>
    <img id="img" src="{served.address}/">
    <iframe id="frame" src="{served.address}/"></iframe>
    <script>
    window.read = fetch("{served.address}/", {{credentials: "include"}}).then(r => r.text()).catch(e => "refused");
    window.sent = fetch("{served.address}/new", {{method: "POST", mode: "no-cors", credentials: "include"}})
      .then(r => r.type).catch(e => "refused");
    </script>"""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(markup.encode())

        def log_message(self, *_: object) -> None:
            return

    other = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=other.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{other.server_port}/"
    other.shutdown()
    thread.join()
    other.server_close()


def desk(served: Served) -> Desk:
    held: Desk = served.app.state.held.desk
    return held


def test_another_page_can_neither_read_nor_change_anything(page: Page, served: Served, elsewhere: str) -> None:
    enter(page, served)
    open_child(page, served)
    page.goto(elsewhere)
    assert page.evaluate("window.read") == "refused"
    page.evaluate("window.sent")
    assert page.locator("#img").evaluate("held => held.naturalWidth") == 0
    frame = page.frame(url=f"{served.address}/") or page.frames[1]
    assert "TW-204" not in frame.content()
    page.evaluate("document.getElementById('post').submit()")
    expect(page.get_by_role("heading", name="Not from this app")).to_be_visible()
    assert len(desk(served)) == 1


def test_a_script_that_gets_into_a_page_does_not_run(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served)
    page.evaluate(
        """() => {
        const held = document.createElement('script');
        held.textContent = 'window.ran = true';
        document.body.append(held);
        document.body.insertAdjacentHTML('beforeend', '<img src=x onerror="window.ran = true">');
        }"""
    )
    page.wait_for_timeout(200)
    assert page.evaluate("window.ran") is None


def test_nothing_is_asked_of_any_other_host(page: Page, served: Served) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    enter(page, served)
    at = open_child(page, served)
    for path in ("child", "estimate", "plans", "sheets", "sheets/surgeon.html", "sheets/family.html"):
        page.goto(f"{at}/{path}")
    assert asked
    assert [url for url in asked if not url.startswith(served.address)] == []


def test_nothing_of_a_child_stays_in_the_browser(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served)
    assert page.evaluate("localStorage.length + sessionStorage.length") == 0
    assert page.evaluate("document.cookie") == ""  # the session's cookie is out of a script's reach
    assert "TW-204" not in page.title() + page.url
    (cookie,) = page.context.cookies()
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")


def test_no_address_and_no_title_tells_of_the_child(page: Page, served: Served) -> None:
    enter(page, served)
    told = every_page(page, served)
    sheets = {name: f"{told['sheets']}/{name}.html" for name in ("surgeon", "family")}
    for address in (told | sheets).values():
        page.goto(address)
        assert "CM-031" not in page.url + page.title()
    page.goto(told["sheets"])
    assert "CM-031" in page.content()  # or the test would find nothing anywhere
