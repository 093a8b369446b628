"""Everybody reaches everything: by keyboard, with a screen reader, enlarged, on a phone, in the dark, on paper."""

import itertools
from collections.abc import Callable
from typing import Any, Literal

import pypdfium2
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.pages import FILES, LATER, PAGES, Entered, enter, keep, open_child, open_plans
from tests.browser.serving import Served

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]
WAYS: tuple[tuple[int, Literal["light", "dark"]], ...] = ((1440, "light"), (390, "dark"))


@pytest.fixture
def look(new_context: NewContext, whole: Entered) -> Callable[[str], Page]:
    """Open a page by its name, in a browser that was let in; every part of it is laid open."""

    def opened(name: str) -> Page:
        page = new_context(storage_state=whole.storage).new_page()
        page.goto(whole.addresses[name])
        page.evaluate("document.querySelectorAll('details').forEach(held => { held.open = true; })")
        return page

    return opened


def violations(page: Page) -> list[str]:
    """Rules of axe-core, shipped with axe-playwright-python: WCAG 2 A and AA, and its best practices."""
    return [held["id"] for held in Axe().run(page).response["violations"]]


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(look: Callable[[str], Page], name: str) -> None:
    page = look(name)
    page.evaluate("document.querySelectorAll('.show input').forEach(held => { held.checked = true; })")
    for width, scheme in WAYS:
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        assert violations(page) == [], f"{name}, {width}, {scheme}"


@pytest.mark.parametrize(
    ("fault", "rule"),
    [
        ("document.querySelector('label[for=f-age_years]').remove()", "label"),
        ("document.querySelector('.small').style.color = '#666'", "color-contrast"),
        ("document.documentElement.removeAttribute('lang')", "html-has-lang"),
    ],
)
def test_axe_finds_a_fault_that_is_put_in(look: Callable[[str], Page], fault: str, rule: str) -> None:
    page = look("child")
    page.emulate_media(color_scheme="dark")
    page.evaluate(fault)
    assert rule in violations(page)


def over(page: Page) -> int:
    """How far a page has to be pushed sideways, in pixels."""
    held: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return held


@pytest.mark.parametrize("name", PAGES)
def test_no_page_has_to_be_pushed_sideways(look: Callable[[str], Page], name: str) -> None:
    """720 is 1440 at 200%; 320 is 1280 at 400% (WCAG 2.2, 1.4.10). Wide tables scroll within themselves.

    Nor with text alone enlarged to 200% (1.4.4).
    """
    page = look(name)
    for width in (1440, 1024, 720, 390, 320):
        page.set_viewport_size({"width": width, "height": 800})
        assert over(page) <= 0, f"{name} at {width}"
    page.set_viewport_size({"width": 1440, "height": 800})
    page.evaluate("document.documentElement.style.setProperty('font-size', '200%')")
    assert over(page) <= 0, f"{name} with large text"


def test_text_can_be_twice_as_large(look: Callable[[str], Page]) -> None:
    """WCAG 2.2, 1.4.4: with text alone enlarged to 200% no field is cut off or lies over another."""
    page = look("child")
    page.evaluate("document.documentElement.style.setProperty('font-size', '200%')")
    boxes = page.evaluate(
        """() => [...document.querySelectorAll('#child .inputs > *')].map(held => {
        const box = held.getBoundingClientRect();
        return {top: box.top, bottom: box.bottom, left: box.left, right: box.right, height: box.height};
        })"""
    )
    fields = [box for box in boxes if box["height"]]
    assert len(fields) > 60
    assert min(box["height"] for box in fields if box["height"]) >= 30
    for first, second in itertools.combinations(fields, 2):
        apart = first["bottom"] <= second["top"] + 1 or second["bottom"] <= first["top"] + 1
        apart |= first["right"] <= second["left"] + 1 or second["right"] <= first["left"] + 1
        assert apart, (first, second)


@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_left_and_right_of_a_measure_stand_beside_each_other(look: Callable[[str], Page], width: int) -> None:
    """Left on the left, as on the drawings; on a phone one right below the other."""
    page = look("child")
    page.set_viewport_size({"width": width, "height": 900})
    sides = [page.locator(f".field.{side} .inputs") for side in ("left", "right")]
    assert sides[0].count() == sides[1].count() > 10
    for left, right in zip(*(held.all() for held in sides), strict=True):
        here, there = left.bounding_box(), right.bounding_box()
        assert here
        assert there
        if width == 390:
            assert here["x"] == there["x"]
            assert here["y"] < there["y"]
        else:
            assert here["y"] == there["y"]
            assert here["x"] < there["x"]


def test_on_a_phone_a_kept_answer_is_read_without_pushing_its_table(look: Callable[[str], Page]) -> None:
    page = look("kept")
    page.set_viewport_size({"width": 390, "height": 900})
    table = page.get_by_role("group", name="Kept answers")
    expect(table).to_contain_text("in 100")
    assert table.evaluate("held => held.scrollWidth - held.clientWidth") <= 0


CUT_OFF = """held => {
    const edge = held.closest('figure').getBoundingClientRect();
    return [...held.querySelectorAll('text')].filter(text => {
        const box = text.getBoundingClientRect();
        return box.left < edge.left - 1 || box.right > edge.right + 1;
    }).map(text => text.textContent);
}"""
MARK = """() => {
    const all = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]';
    const open = [...document.querySelectorAll(all)].filter(held => held.tabIndex >= 0 && held.checkVisibility());
    open.forEach((held, number) => { held.dataset.number = number; });
    return open.length;
}"""
AT = """() => {
    const style = getComputedStyle(document.activeElement);
    return [Number(document.activeElement.dataset.number ?? -1), style.outlineStyle];
}"""


@pytest.mark.parametrize("name", PAGES)
def test_the_keyboard_reaches_everything_in_order_and_it_is_seen_where_it_is(
    look: Callable[[str], Page], name: str
) -> None:
    """WCAG 2.2, 2.1.1, 2.1.2, 2.4.3, 2.4.7: no trap, the order of the page, a focus that is drawn."""
    page = look(name)
    number = page.evaluate(MARK)
    reached = []
    for _ in range(number):
        page.keyboard.press("Tab")
        reached.append(page.evaluate(AT))
    assert reached == [[i, "solid"] for i in range(number)]


def tab_to(page: Page, words: str, most: int = 80) -> None:
    """Press Tab until something with these words has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        told = page.evaluate(
            "() => { const at = document.activeElement; const label = at.labels && at.labels[0];"
            " return (label ? label.textContent : '') + ' ' + (at.ariaLabel || at.textContent); }"
        )
        if words.lower() in " ".join(told.lower().split()):
            return
    raise AssertionError(f"the keyboard does not reach {words!r}")


def press(page: Page, words: str, goes_to: str) -> None:
    """Go to a link or button with Tab, press Enter, and wait for the page that follows."""
    tab_to(page, words)
    with page.expect_navigation(url=goes_to):
        page.keyboard.press("Enter")


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


def test_the_keyboard_alone_opens_a_file_plans_reads_back_and_notes_what_became_of_the_child(
    page: Page, served: Served
) -> None:
    enter(page, served)
    at = open_child(page, served)
    keep(page, at)
    page.goto(f"{served.address}/")
    tab_to(page, "Case file")
    expect(page.locator("#file")).to_be_focused()
    page.set_input_files("#file", FILES / "TW-204.toml")  # the window in which a file is chosen is the browser's own
    press(page, "Open", "**/child")
    press(page, "Open What will make it heal", "**/child")
    expect(page.locator("#f-bone_density_z")).to_be_visible()
    press(page, "Plans", "**/plans")
    press(page, "Type or open plans", "**/plans/edit")
    tab_to(page, "Title")
    page.keyboard.type("C1-C2")
    tab_to(page, "Highest level")
    page.keyboard.type("C1")
    tab_to(page, "Lowest level")
    page.keyboard.type("C2")
    press(page, "Show the plans", "**/plans")
    expect(page.locator(".plan h3")).to_have_text("A: C1-C2")
    press(page, "Sheets", "**/sheets")
    tab_to(page, "Initials of who read them back")
    page.keyboard.type("ab")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Read back by AB.")).to_be_visible()
    press(page, "Kept answers", "**/kept")
    press(page, "TW-204", "**/kept/*")
    tab_to(page, "Month of the operation")
    page.keyboard.type("2026-11")
    tab_to(page, "Did it happen")
    page.keyboard.type("no")
    tab_to(page, "Your initials")
    page.keyboard.type("cd")
    page.keyboard.press("Enter")
    expect(page.get_by_text("this holds")).to_be_visible()


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


@pytest.mark.parametrize("width", [1440, 1024])
def test_the_answer_stays_beside_the_form(look: Callable[[str], Page], width: int) -> None:
    page = look("child")
    page.set_viewport_size({"width": width, "height": 900})
    page.locator("#child .field").last.scroll_into_view_if_needed()
    expect(page.locator("#answers .range").first).to_be_in_viewport()
    form, answers = (page.locator(part).bounding_box() for part in ("#child", "aside"))
    assert form is not None
    assert answers is not None
    assert form["x"] + form["width"] <= answers["x"]


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


def test_on_paper_only_what_is_known_is_printed_of_the_form(page: Page, served: Served) -> None:
    """A number, a choice, a word in place of a number and a tick each keep their field; what is empty leaves none."""
    enter(page, served)
    open_child(page, served)
    page.get_by_role("button", name=LATER).click()
    page.locator("#f-c2_pedicle_width_left_mm").fill("")
    page.locator("[name='c2_pedicle_width_left_mm.word']").select_option("not_measurable")
    page.locator("#f-age_years").fill("9")
    page.locator("#f-reduces").select_option("")
    page.emulate_media(media="print")
    for name, printed in {"age_years": True, "c2_pedicle_width_left_mm": True, "reduces": False}.items():
        expect(page.locator("#child .field", has=page.locator(f"#f-{name}"))).to_be_visible(visible=printed)
    for field in page.locator("#child fieldset.field").all():
        assert field.is_visible() == (field.locator("input:checked").count() > 0)
    values = [held.input_value() for held in page.locator("#child input:not([type]):visible").all()]
    assert len(values) > 5
    assert values.count("") == 1, "a box stays empty only where a word stands beside it"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_are_legible_in_both_schemes(look: Callable[[str], Page], scheme: Any) -> None:
    """The ink of a drawing is that of the page's text, and nothing of it is cut off."""
    page = look("plans")
    page.emulate_media(color_scheme=scheme)
    for drawing in page.locator("figure svg").all():
        assert drawing.evaluate(CUT_OFF) == []
    ink = page.evaluate("getComputedStyle(document.body).color")
    assert page.locator("svg text").first.evaluate("held => getComputedStyle(held).fill") == ink
