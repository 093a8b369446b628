"""The app in a real browser: Debian's chromium, driven by playwright. Without chromium these tests fail, never skip."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.pages import Entered, enter, every_page
from tests.browser.serving import ARGUMENTS, Served, running


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A fixture of the plugin that finds a base address is written in a way that pytest will stop to take."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.filterwarnings("ignore:Session-scoped fixtures defined as instance methods"))


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    found = shutil.which("chromium")
    assert found, "chromium is missing: apt-get install chromium"
    return {"executable_path": found, "args": ARGUMENTS}


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """An app of the test's own."""
    with running(tmp_path / "kept.sqlite3") as held:
        yield held


@pytest.fixture(scope="session")
def whole(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Entered]:
    """One app for tests that only look: a child, plans and kept answers in hand, and the cookie that lets in."""
    with running(tmp_path_factory.mktemp("whole") / "kept.sqlite3") as held:
        context = browser.new_context()
        page = context.new_page()
        enter(page, held)
        addresses = every_page(page, held)
        yield Entered(addresses, context.storage_state())
        context.close()


@pytest.fixture
def complaints(page: Page) -> Iterator[list[str]]:
    """What the browser complains of: refused by the policy, failed scripts. There must be nothing."""
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    yield told
    assert told == []
