"""Every page as a picture, for people to look at: `python -m tests.browser.pictures FOLDER`.

Three widths, light and dark, and A4 on paper.
"""

import itertools
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Literal

from playwright.sync_api import Page, sync_playwright

from tests.browser.pages import enter, every_page
from tests.browser.serving import ARGUMENTS, running

WIDTHS = (1440, 1024, 390)
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")


def main(folder: Path) -> None:
    """Write the pictures into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    place = tempfile.TemporaryDirectory()
    with place as kept, running(Path(kept) / "kept.sqlite3") as served, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS)
        page = browser.new_page()
        enter(page, served)
        addresses = every_page(page, served)
        addresses |= {f"{name} sheet": f"{addresses['sheets']}/{name}.html" for name in ("surgeon", "family")}
        for name, address in addresses.items():
            page.goto(address)
            _take(page, folder, name.replace("/", "-").replace(" ", "-"))
        browser.close()


def _take(page: Page, folder: Path, name: str) -> None:
    for width, scheme in itertools.product(WIDTHS, SCHEMES):
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        page.screenshot(path=folder / f"{name}-{width}-{scheme}.png", full_page=True)
    page.emulate_media(color_scheme="light")
    page.pdf(path=folder / f"{name}.pdf", format="A4")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "pictures"))
