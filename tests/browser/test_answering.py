"""The answer changes when a field is left, never before; an answer that does not fit the values is struck out."""

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, Request, expect

from tests.browser.pages import enter, every_page, open_child
from tests.browser.serving import Served

pytestmark = pytest.mark.browser


def ranges(page: Page) -> list[str]:
    return page.locator("#answers .answer .range").all_inner_texts()


def requests(page: Page) -> list[str]:
    """What is asked of the program from now on, but for our own style, script and mark."""
    asked: list[str] = []

    def note(request: Request) -> None:
        if "/static/" not in request.url:
            asked.append(request.url)

    page.on("request", note)
    return asked


def test_the_answer_changes_when_a_field_is_left_and_not_while_it_is_typed(
    page: Page, served: Served, complaints: list[str]
) -> None:
    enter(page, served)
    open_child(page, served)
    before = ranges(page)
    assert len(before) == 2
    asked = requests(page)
    page.locator("#f-age_years").fill("5")
    page.wait_for_timeout(300)
    assert asked == []
    assert ranges(page) == before
    with page.expect_response("**/answer"):
        page.keyboard.press("Tab")
    expect(page.locator("#answers .range").first).not_to_have_text(before[0])
    assert page.locator("#spoken").inner_text().count("between") == 2


def test_what_measuring_would_buy_follows_the_number(page: Page, served: Served, complaints: list[str]) -> None:
    enter(page, served)
    open_child(page, served)
    with page.expect_response("**/answer"):
        page.locator("#f-reduces").select_option("")
    expect(page.locator("#answers .missing li").first).to_contain_text("Reduces: the range")


def test_invalid_input_strikes_the_answer_out_and_mending_it_brings_it_back(
    page: Page, served: Served, complaints: list[str]
) -> None:
    enter(page, served)
    open_child(page, served)
    before = ranges(page)
    age = page.locator("#f-age_years")
    age.fill("99")
    age.blur()
    expect(page.locator("#answers del")).to_contain_text(before[0])
    expect(page.locator("#answers")).to_contain_text("For the earlier values")
    expect(page.locator("#m-age_years")).to_contain_text("accepted: a number from 0 to 25 years")
    expect(age).to_have_attribute("aria-invalid", "true")
    assert page.locator("#answers del").evaluate("held => getComputedStyle(held).textDecorationLine") == "line-through"
    age.fill("9.2")
    age.blur()
    expect(page.locator("#answers del")).to_have_count(0)
    expect(age).not_to_have_attribute("aria-invalid", "true")
    assert ranges(page) == before


def test_fields_left_in_quick_succession_end_with_the_answer_to_the_last(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served)
    age = page.locator("#f-age_years")
    for value in ("2", "3", "99", "4", "5", "9.2"):
        age.fill(value)
        age.blur()
    expect(page.locator("#answers")).not_to_have_attribute("aria-busy", "true")
    expect(page.locator("#answers del")).to_have_count(0)
    page.reload()
    expect(age).to_have_value("9.2")
    assert len(ranges(page)) == 2


def test_a_program_that_does_not_answer_leaves_no_answer_standing(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served)
    page.route("**/answer", lambda route: route.abort())
    page.locator("#f-age_years").fill("3")
    page.locator("#f-age_years").blur()
    expect(page.locator("#answers > del .range").first).to_be_visible()
    expect(page.locator("#answers")).to_contain_text("The program did not answer")


def test_a_word_takes_the_place_of_a_number_and_a_number_that_of_a_word(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served, "CM-031")
    page.get_by_role("button", name="Open What is unstable, and why now").click()
    number, word = page.locator("#f-adi_mm"), page.locator('select[name="adi_mm.word"]')
    expect(word).to_have_value("not_measurable")
    number.fill("4")
    number.blur()
    expect(word).to_have_value("")
    word.select_option("not_measurable")
    expect(number).to_have_value("")
    expect(page.locator("#m-adi_mm")).to_be_empty()


def test_confirming_an_unusual_value_keeps_the_focus_where_it_is(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served)
    page.get_by_role("button", name="Open What is unstable, and why now").click()
    page.locator("#f-adi_mm").fill("18")
    page.locator("#f-adi_mm").blur()
    box = page.locator("#m-adi_mm input")
    expect(box).to_be_visible()
    box.focus()
    with page.expect_response("**/answer"):
        page.keyboard.press("Space")
    expect(page.locator("#answers")).not_to_contain_text("To be confirmed")
    expect(box).to_be_checked()
    expect(box).to_be_focused()


def test_help_is_shown_without_asking_the_program(page: Page, served: Served) -> None:
    enter(page, served)
    open_child(page, served)
    asked = requests(page)
    expect(page.locator("#help-age_years")).to_be_hidden()
    page.get_by_label("Show how each is measured").first.check()
    expect(page.locator("#help-age_years")).to_be_visible()
    assert asked == []


@pytest.mark.parametrize("value", ["9.2", "99"])
def test_with_scripts_off_a_plain_submit_does_the_same(
    new_context: Callable[..., BrowserContext], served: Served, value: str
) -> None:
    page = new_context(java_script_enabled=False).new_page()
    enter(page, served)
    open_child(page, served)
    before = ranges(page)
    page.locator("#f-age_years").fill(value)
    page.locator("#f-age_years").press("Enter")
    page.wait_for_url("**/child")
    if value == "99":
        expect(page.locator("#answers del")).to_contain_text(before[0])
    else:
        assert ranges(page) == before
    page.get_by_role("button", name="Open What will make it heal").click()
    expect(page.locator("#f-bone_density_z")).to_be_visible()
    page.get_by_role("link", name="The whole account").click()
    expect(page.get_by_role("heading", name="Estimate")).to_be_visible()


def test_with_scripts_off_every_page_does_its_work(new_context: Callable[..., BrowserContext], served: Served) -> None:
    page = new_context(java_script_enabled=False).new_page()
    enter(page, served)
    addresses = every_page(page, served)
    page.goto(addresses["sheets"])
    page.get_by_label("Initials of who read them back").fill("ab")
    page.get_by_role("button", name="Read back").click()
    expect(page.get_by_text("Read back by AB.")).to_be_visible()
    page.goto(addresses["plans"])
    page.get_by_label("Decided").first.fill("operate in spring")
    page.get_by_role("button", name="Note what is decided").click()
    expect(page.get_by_label("Decided").first).to_have_value("operate in spring")
    page.goto(addresses["kept"])
    page.get_by_label("Key contains").fill("nobody")
    page.get_by_role("button", name="Filter").click()
    expect(page.get_by_role("status")).to_contain_text("0 of 2 answers")
