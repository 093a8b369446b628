"""Ways through the app, as a person takes them."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page, StorageState, expect

from tests import demonstration
from tests.browser.serving import Served

FILES = demonstration.CASES
PLANS = demonstration.FOLDER / "plans"


# Every page, as `every_page` names them; the first five are about the child in hand.
CHILD_PAGES = ("child", "estimate", "plans", "plans/edit", "sheets")
PAGES = (*CHILD_PAGES, "desk", "models", "card", "kept", "one kept", "nowhere")
# A later group of the form, laid open on every page that is looked at.
LATER = "Anchors, by level and side"


@dataclass(frozen=True)
class Entered:
    """An app with everything in hand: the address of each page by its name, and the cookie that lets in."""

    addresses: Mapping[str, str]
    storage: StorageState


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


def keep(page: Page, at: str) -> None:
    """Keep the answers of a child."""
    page.goto(f"{at}/estimate")
    page.get_by_label("Your initials").fill("ab")
    page.get_by_label("may be kept here").check()
    page.get_by_role("button", name="Keep", exact=True).click()
    page.wait_for_url("**/kept")


def every_page(page: Page, served: Served) -> dict[str, str]:
    """Addresses of all pages, with a child and plans in hand and an answer kept, by their names."""
    at = open_child(page, served, "CM-031")
    open_plans(page, at, "CM-031")
    keep(page, at)
    kept = page.locator("tbody a").first.get_attribute("href")
    page.goto(f"{at}/child")
    page.get_by_role("button", name=f"Open {LATER}").click()
    own = {name: f"{at}/{name}" for name in CHILD_PAGES}
    desk = {"desk": "", "models": "models", "card": "models/0", "kept": "kept", "nowhere": "nowhere"}
    others = {name: f"{served.address}/{path}" for name, path in desk.items()}
    return {**own, **others, "one kept": f"{served.address}{kept}"}
