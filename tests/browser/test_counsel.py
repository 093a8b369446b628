"""Estimate, plans, sheets and kept answers as a surgeon and a counselling team go through them."""

import re
from datetime import date
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Download, Page, expect

from riskmodel.web.kept import Event, Store
from tests.browser.pages import enter, keep, open_child, open_plans
from tests.browser.serving import Served, running
from tests.riskmodel.web.kept.builders import answer, kept, since

pytestmark = pytest.mark.browser


def paper(held: Download) -> str:
    """The text of a PDF."""
    document = pypdfium2.PdfDocument(held.path())
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return text


def download(page: Page, name: str, number: int = 0) -> Download:
    with page.expect_download() as held:
        page.get_by_role("link", name=name, exact=True).nth(number).click()
    return held.value


def test_a_row_of_the_registry_becomes_an_answer_and_a_case_file(page: Page, served: Served) -> None:
    enter(page, served)
    page.locator("#row").fill("case_id\tage_years\tcondition\tupper_level\nZZ-1\t9.2\tdown\tC1")
    page.get_by_role("button", name="Take").click()
    expect(page.locator("#f-age_years")).to_have_value("9.2")
    expect(page.locator("#answers .answer")).to_have_count(2)
    saved = download(page, "Save as a case file")
    assert saved.suggested_filename == "case.toml"
    assert 'case_id = "ZZ-1"' in Path(saved.path()).read_text()
    page.goto(f"{served.address}/")
    page.set_input_files("#file", saved.path())
    page.get_by_role("button", name="Open", exact=True).click()
    expect(page.locator("#f-case_id")).to_have_value("ZZ-1")


def test_a_line_of_the_account_opens_onto_its_curve_with_this_child_and_where_there_were_data(
    page: Page, served: Served
) -> None:
    enter(page, served)
    page.goto(f"{open_child(page, served)}/estimate")
    whole = page.locator("section.whole").first
    above = [whole.locator(part).first.bounding_box() for part in (".range", ".gates", ".account")]
    assert None not in above
    assert sorted(above, key=lambda box: box["y"] if box else 0) == above  # the range first
    line = whole.locator("details", has_text="Age at the operation")
    expect(line.locator("svg")).to_be_hidden()
    line.locator("summary").click()
    expect(line.locator("svg circle")).to_have_count(1)
    expect(line).to_contain_text(re.compile(r"where the cohort had children: [\d.]+ to [\d.]+ years"))


def test_plans_stand_as_typed_and_what_is_at_odds_stands_beside_its_step(page: Page, served: Served) -> None:
    enter(page, served)
    open_plans(page, open_child(page, served, "EH-112"), "EH-112")
    assert [held.split(":")[0] for held in page.locator(".plan h3").all_inner_texts()] == ["A", "B"]
    assert page.locator(".plan figure svg").count() == 2
    expect(page.locator(".plan figure").first).to_contain_text("seen from behind")
    expect(page.locator(".steps > li").nth(4).locator(".odds li").first).to_contain_text("plan A")
    assert page.locator(".steps > li").nth(0).locator(".odds").count() == 0
    colours = page.locator(".plan").evaluate_all("held => held.map(one => getComputedStyle(one).backgroundColor)")
    assert set(colours) == {"rgba(0, 0, 0, 0)"}  # none is shaded


def test_between_plans_there_is_a_difference_and_a_plans_own_number_only_on_demand(page: Page, served: Served) -> None:
    enter(page, served)
    open_plans(page, open_child(page, served))
    records = page.locator("#records")
    expect(records).to_contain_text("these records cannot tell these plans apart")
    expect(records).to_contain_text("90% range")
    expect(records).not_to_contain_text("plan A: between")
    records.get_by_text("Ask otherwise").click()
    records.get_by_label("Each plan's own number").check()
    records.get_by_role("button", name="Ask").click()
    expect(records).to_contain_text("plan A: between")


def test_the_surgeons_page_is_printed_after_sides_were_read_back_and_a_changed_value_takes_that_off(
    page: Page, served: Served
) -> None:
    enter(page, served)
    at = open_child(page, served)
    open_plans(page, at)
    page.goto(f"{at}/sheets")
    expect(page.get_by_role("link", name="Preview, marked as not read back")).to_be_visible()
    assert page.get_by_role("link", name="PDF").count() == 1  # the family's only
    page.get_by_label("Initials of who read them back").fill("ab")
    page.get_by_role("button", name="Read back").click()
    assert "TW-204" in paper(download(page, "PDF"))
    page.goto(f"{at}/child")
    page.locator("#f-age_years").fill("9.3")
    with page.expect_response("**/answer"):
        page.locator("#f-age_years").blur()
    page.goto(f"{at}/sheets")
    expect(page.get_by_text("Read back by")).to_have_count(0)


def test_the_familys_sheet_speaks_another_language_and_names_no_child(page: Page, served: Served) -> None:
    enter(page, served)
    page.goto(f"{open_child(page, served)}/sheets")
    page.get_by_label("this operation", exact=True).check()
    page.get_by_label("Language").select_option(label="Español (draft translation)")
    page.get_by_role("button", name="Make the sheet so").click()
    expect(page.get_by_label("this operation", exact=True)).to_be_checked()
    text = paper(download(page, "PDF"))
    assert "TW-204" not in text
    page.get_by_role("link", name="Preview, to print").click()
    expect(page.locator("html")).to_have_attribute("lang", "es")


def test_a_kept_answer_gets_its_outcome_later_is_found_and_exported(page: Page, served: Served) -> None:
    enter(page, served)
    at = open_child(page, served)
    page.goto(f"{served.address}/kept")
    expect(page.get_by_role("status")).to_contain_text("0 of 0 answers")
    keep(page, at)
    page.locator("tbody a").first.click()
    page.get_by_label("Month of the operation").fill("2026-11")
    page.get_by_label("Did it happen").select_option("no")
    page.get_by_label("Your initials").fill("cd")
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_text("this holds")).to_be_visible()
    page.goto(f"{served.address}/kept")
    page.get_by_label("Key contains").fill("tw-2")
    page.get_by_label("Show").select_option("nothing noted since")
    page.get_by_role("button", name="Filter").click()
    expect(page.locator("tbody tr")).to_have_count(1)
    assert Path(download(page, "Export all as CSV").path()).read_text().count("TW-204") == 2


def test_observed_stands_against_expected_by_half_year_with_limits(page: Page, tmp_path: Path) -> None:
    """Ten children at 20 in 100 each, of whom two had it: expected 2.0, and 0 to 5 by chance (exact binomial)."""
    place = tmp_path / "kept.sqlite3"
    held = [kept(number, answer=answer(0.2)) for number in range(10)]
    store = Store(place)
    store.keep(held)
    for number, one in enumerate(held):
        store.note(one, since(Event.YES if number < 2 else Event.NO))
    with running(place, on=date(2029, 2, 1)) as later:
        enter(page, later)
        page.goto(f"{later.address}/kept")
        row = page.locator(".watch tbody tr")
        expect(row).to_have_count(1)
        assert row.locator("td").all_inner_texts()[:6] == ["10", "0", "2", "2.0", "1.00", "0 to 5"]
