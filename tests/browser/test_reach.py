"""Everybody reaches everything: by keyboard, with a screen reader, enlarged, on a phone, in the dark, on paper."""

from collections.abc import Callable
from typing import Any

import pypdfium2
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Served
from tests.browser.pages import enter, every_page, open_child, open_plans

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 390])
def test_axe_finds_nothing(new_context: NewContext, served: Served, width: int, scheme: Any) -> None:
    """Rules of axe-core, shipped with axe-playwright-python: WCAG 2 A and AA, and its best practices."""
    page = new_context(viewport={"width": width, "height": 900}, color_scheme=scheme).new_page()
    enter(page, served)
    for name, address in every_page(page, served).items():
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach(held => { held.open = true; })")
        page.evaluate("document.querySelectorAll('.show input').forEach(held => { held.checked = true; })")
        found = Axe().run(page)
        assert found.violations_count == 0, f"{name}: {found.generate_report()}"


@pytest.mark.parametrize("width", [1440, 1024, 720, 390, 320])
def test_no_page_has_to_be_pushed_sideways(new_context: NewContext, served: Served, width: int) -> None:
    """720 is 1440 at 200%; 320 is 1280 at 400% (WCAG 2.2, 1.4.10). Wide tables scroll within themselves."""
    page = new_context(viewport={"width": width, "height": 800}).new_page()
    enter(page, served)
    for name, address in every_page(page, served).items():
        page.goto(address)
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, f"{name} at {width}"


def test_text_can_be_twice_as_large(page: Page, served: Served) -> None:
    """WCAG 2.2, 1.4.4: with text alone enlarged to 200% nothing is cut off or lies over something else."""
    enter(page, served)
    open_child(page, served)
    page.evaluate("document.documentElement.style.setProperty('font-size', '200%')")
    for field in page.locator("#child input[inputmode]:visible, #child select:visible").all():
        box = field.bounding_box()
        assert box is not None
        assert box["height"] >= 32
    over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert over <= 0


def tab_to(page: Page, words: str, most: int = 80) -> None:
    """Press Tab until something with these words has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        told = page.evaluate(
            "() => { const at = document.activeElement; const label = at.labels && at.labels[0];"
            " return (label ? label.innerText : '') + ' ' + (at.ariaLabel || at.innerText || at.name || ''); }"
        )
        if words.lower() in told.lower():
            return
    raise AssertionError(f"the keyboard does not reach {words!r}")


def test_the_keyboard_alone_does_everything(page: Page, served: Served, complaints: list[str]) -> None:
    enter(page, served)
    tab_to(page, "New child")
    page.keyboard.press("Enter")
    page.wait_for_url("**/child")
    typed = {"Key": "KB-1", "Age at the operation": "9.2", "Earlier operations": "0"}
    for label, value in typed.items():
        tab_to(page, label)
        page.keyboard.type(value)
    for label, value in {"Main condition": "Down", "Ring of the atlas": "Closed", "Reduces": "Awake"}.items():
        tab_to(page, label)
        page.keyboard.type(value)
    for label, value in {"Highest level": "C1", "Construct": "Rigid"}.items():
        tab_to(page, label)
        page.keyboard.type(value)
    tab_to(page, "Firm anchors")
    page.keyboard.type("2")
    tab_to(page, "Main graft")
    page.keyboard.type("A structural")
    page.keyboard.press("Tab")
    expect(page.locator("#answers .answer .range").first).to_contain_text("between")
    tab_to(page, "The whole account")
    page.keyboard.press("Enter")
    page.wait_for_url("**/estimate")
    tab_to(page, "Age at the operation")
    page.keyboard.press("Enter")
    expect(page.locator("details[open] svg").first).to_be_visible()
    tab_to(page, "Your initials")
    page.keyboard.type("ab")
    tab_to(page, "may be kept")
    page.keyboard.press("Space")
    tab_to(page, "Keep")
    page.keyboard.press("Enter")
    page.wait_for_url("**/kept")
    expect(page.locator("tbody tr")).to_have_count(2)


def test_the_first_tab_skips_to_the_page(page: Page, served: Served) -> None:
    enter(page, served)
    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def test_on_a_phone_the_answer_stays_in_sight(new_context: NewContext, served: Served) -> None:
    page = new_context(viewport={"width": 390, "height": 800}).new_page()
    enter(page, served)
    open_child(page, served)
    strip = page.locator(".strip")
    expect(strip).to_be_in_viewport()
    before = strip.inner_text()
    page.locator("#f-age_years").fill("5")
    page.locator("#f-age_years").blur()
    expect(strip).not_to_have_text(before, use_inner_text=True)
    page.locator("#f-graft_kind").scroll_into_view_if_needed()
    expect(strip).to_be_in_viewport()


def test_on_paper_stand_the_values_the_answers_and_the_cautions(page: Page, served: Served) -> None:
    enter(page, served)
    at = open_child(page, served)
    open_plans(page, at)
    for path, told in {"child": "between", "estimate": "Total", "plans": "Contradicts|Step by step"}.items():
        page.goto(f"{at}/{path}")
        page.emulate_media(media="print")
        expect(page.locator("nav")).to_be_hidden()
        document = pypdfium2.PdfDocument(page.pdf(format="A4"))
        text = "\n".join(sheet.get_textpage().get_text_range() for sheet in document)
        document.close()
        assert any(part in text for part in told.split("|")), path
        assert "Made from invented data" in text
        assert "does not replace the judgement" in " ".join(text.split())


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_are_legible_in_both_schemes(new_context: NewContext, served: Served, scheme: Any) -> None:
    """The ink of a drawing is that of the page's text."""
    page = new_context(color_scheme=scheme).new_page()
    enter(page, served)
    open_plans(page, open_child(page, served))
    ink = page.evaluate("getComputedStyle(document.body).color")
    assert page.locator("svg text").first.evaluate("held => getComputedStyle(held).fill") == ink
