"""Ways through the app, as a person takes them."""

from pathlib import Path

from playwright.sync_api import Page, expect

from tests import demonstration
from tests.browser.conftest import Served

FILES = demonstration.CASES
PLANS = demonstration.FOLDER / "plans"


def enter(page: Page, served: Served) -> None:
    """Use the start link."""
    page.goto(served.link)
    expect(page).to_have_url(f"{served.address}/")


def choose(page: Page, file: Path) -> None:
    """Choose a file and open it."""
    page.set_input_files("#file", file)
    page.get_by_role("button", name="Open", exact=True).click()


def open_child(page: Page, served: Served, name: str = "TW-204") -> str:
    """Open a child of the demonstration; the address that its pages begin with."""
    page.goto(f"{served.address}/")
    choose(page, FILES / f"{name}.toml")
    page.wait_for_url("**/child")
    return page.url.removesuffix("/child")


def open_plans(page: Page, at: str, name: str = "TW-204") -> None:
    """Open the child's plans."""
    page.goto(f"{at}/plans/edit")
    choose(page, PLANS / f"{name}.toml")
    page.wait_for_url("**/plans")


def every_page(page: Page, served: Served) -> dict[str, str]:
    """Addresses of all pages, with a child and plans in hand and an answer kept, by their names."""
    at = open_child(page, served, "CM-031")
    open_plans(page, at, "CM-031")
    page.goto(f"{at}/estimate")
    page.get_by_label("Your initials").fill("ab")
    page.get_by_label("may be kept here").check()
    page.get_by_role("button", name="Keep", exact=True).click()
    kept = page.locator("tbody a").first.get_attribute("href")
    page.goto(f"{at}/child")
    page.get_by_role("button", name="Open Anchors, by level and side").click()
    own = {name: f"{at}/{name}" for name in ("child", "estimate", "plans", "plans/edit", "sheets")}
    desk = {name: f"{served.address}/{name}" for name in ("", "models", "models/0", "kept", "nowhere")}
    return {**own, **desk, "one kept": f"{served.address}{kept}"}
