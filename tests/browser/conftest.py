"""The app in a real browser: Debian's chromium, driven by playwright. Without chromium these tests fail, never skip."""

import asyncio
import shutil
import socket
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page
from starlette.applications import Starlette

from riskmodel.cli.serve import door_of, server
from riskmodel.web import app as apps
from riskmodel.web.door import LOOPBACK
from tests.riskmodel.web.client import ON, demonstration_models

# As root, and in a container without a GPU; nothing is fetched from anywhere.
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A fixture of the plugin that finds a base address is written in a way that pytest will stop to take."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.filterwarnings("ignore:Session-scoped fixtures defined as instance methods"))


@dataclass(frozen=True)
class Served:
    """A running app."""

    app: Starlette
    address: str

    @property
    def link(self) -> str:
        """The start link that has not been used yet."""
        return door_of(self.app).link


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    found = shutil.which("chromium")
    assert found, "chromium is missing: apt-get install chromium"
    return {"executable_path": found, "args": ARGUMENTS}


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[[], Served]]:
    """Start an app of its own, as the command line does, and end it afterwards."""
    ended: list[Callable[[], None]] = []

    def start() -> Served:
        listener = socket.create_server((LOOPBACK, 0))
        port = listener.getsockname()[1]
        settings = apps.Settings(port, tmp_path / "kept.sqlite3", lambda: ON, tell=lambda _: None)
        app = apps.create(demonstration_models(), settings)
        running = server(app)
        thread = threading.Thread(target=lambda: asyncio.run(running.serve(sockets=[listener])))
        thread.start()

        def end() -> None:
            running.should_exit = True
            thread.join()
            listener.close()

        ended.append(end)
        return Served(app, f"http://{LOOPBACK}:{port}")

    yield start
    for end in ended:
        end()


@pytest.fixture
def served(serve: Callable[[], Served]) -> Served:
    return serve()


@pytest.fixture
def complaints(page: Page) -> Iterator[list[str]]:
    """What the browser complains of: refused by the policy, failed scripts. There must be nothing."""
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    yield told
    assert told == []
