"""Sheets: sides are read back first, initials hold for what they were given for, and the titles say nothing."""

import re
from base64 import b64encode
from hashlib import sha256

import pypdfium2
import pytest

from riskmodel.documents import family
from riskmodel.documents.family import FamilyOptions
from riskmodel.documents.scored import score
from riskmodel.documents.surgeon.summarise import NOT_READ_BACK
from tests import demonstration
from tests.riskmodel.web.cases import content, typed
from tests.riskmodel.web.client import ON, Answer, Client, client, demonstration_models


@pytest.fixture
def inside() -> Client:
    return client().let_in()


def child(inside: Client, name: str = "TW-204") -> str:
    return inside.upload("/open", content(name)).header("location").removesuffix("/child")


def read_back(inside: Client, at: str) -> None:
    assert inside.post(f"{at}/sheets/read-back", {"initials": "ab"}).status == 303


def pdf_text(answer: Answer) -> str:
    document = pypdfium2.PdfDocument(answer.body)
    return "\n".join(page.get_textpage().get_text_range() for page in document)


def test_every_pair_of_sides_that_is_known_is_read_back(inside: Client) -> None:
    at = child(inside)
    words = inside.get(f"{at}/sheets").words
    values = typed("TW-204")
    assert (
        f"C2 pedicle: width {values['c2_pedicle_width_left_mm']} mm {values['c2_pedicle_width_right_mm']} mm" in words
    )
    assert "Vertebral artery Usual course Usual course" in words


def test_anchors_of_plans_are_read_back_by_side(inside: Client) -> None:
    at = child(inside)
    plans = (demonstration.FOLDER / "plans" / "TW-204.toml").read_bytes()
    inside.upload(f"{at}/plans/open", plans, "plans.toml")
    assert "Plan A, C2 pedicle screw 3.5 x 20 mm pedicle screw 3.5 x 20 mm" in inside.get(f"{at}/sheets").words


def test_without_a_read_back_there_is_a_marked_preview_and_no_pdf(inside: Client) -> None:
    at = child(inside)
    assert NOT_READ_BACK in inside.get(f"{at}/sheets/surgeon.html").words
    assert inside.get(f"{at}/sheets/surgeon.pdf").status == 409
    assert "surgeon.pdf" not in inside.get(f"{at}/sheets").text
    read_back(inside, at)
    assert NOT_READ_BACK not in inside.get(f"{at}/sheets/surgeon.html").words
    answer = inside.get(f"{at}/sheets/surgeon.pdf")
    assert answer.header("content-disposition") == 'attachment; filename="surgeon.pdf"'
    assert "read back by AB" in pdf_text(answer)


@pytest.mark.parametrize("initials", ["", "a", "a1", "abcde"])
def test_initials_are_letters(inside: Client, initials: str) -> None:
    at = child(inside)
    answer = inside.post(f"{at}/sheets/read-back", {"initials": initials})
    assert answer.status == 422
    assert "Missing: your initials: 2 to 4 letters" in answer.words


def test_a_changed_value_takes_the_initials_off_and_a_repeated_one_does_not(inside: Client) -> None:
    at = child(inside)
    read_back(inside, at)
    inside.post(f"{at}/sheets/family", {"initials": "cd"})
    inside.post(f"{at}/answer", typed("TW-204"))
    assert "Read back by AB" in inside.get(f"{at}/sheets").words
    inside.post(f"{at}/answer", {**typed("TW-204"), "age_years": "9.3"})
    words = inside.get(f"{at}/sheets").words
    assert "Read back by" not in words
    assert "Talked through by" not in words


@pytest.mark.parametrize("change", ["plans", "decided"])
def test_a_changed_plan_takes_the_initials_off(inside: Client, change: str) -> None:
    at = child(inside)
    read_back(inside, at)
    if change == "plans":
        plans = (demonstration.FOLDER / "plans" / "TW-204.toml").read_bytes()
        inside.upload(f"{at}/plans/open", plans, "plans.toml")
    else:
        inside.post(f"{at}/plans/decided", {"decided.cord": "x"})
    assert "Read back by" not in inside.get(f"{at}/sheets").words


def test_an_unusual_value_is_confirmed_before_it_is_read_back(inside: Client) -> None:
    at = inside.new_child({**typed("TW-204"), "adi_mm": "18"})
    assert inside.post(f"{at}/sheets/read-back", {"initials": "ab"}).status == 422


def test_the_familys_sheet_is_the_one_that_the_ticks_make(inside: Client) -> None:
    at = child(inside)
    inside.post(f"{at}/sheets/family", {"tick": ["brace", "growing_up", "nonsense"], "language": "en"})
    page = inside.get(f"{at}/sheets/family.html")
    values = {key: text for key, text in typed("TW-204").items() if key != "case_id"}
    scored = [score(scorer, values, on=ON, case_id="TW-204") for scorer in demonstration_models().scorers]
    chosen = FamilyOptions(choices=(family.Choice.BRACE,), growing_up=True)
    assert page.text == family.to_html(family.summarise(scored, chosen, on=ON)).replace(
        "<title>Your child&#39;s neck operation</title>", "<title>Family's sheet</title>"
    )
    assert "Draft: not yet talked through" in page.words


def test_a_sheet_that_was_talked_through_is_no_draft(inside: Client) -> None:
    at = child(inside)
    inside.post(f"{at}/sheets/family", {"initials": "cd"})
    assert "Talked through by CD" in inside.get(f"{at}/sheets").words
    assert "Draft: not yet" not in inside.get(f"{at}/sheets/family.html").words
    assert "Draft: not yet" not in pdf_text(inside.get(f"{at}/sheets/family.pdf"))


def test_another_language_is_marked_as_a_draft_translation(inside: Client) -> None:
    at = child(inside)
    inside.post(f"{at}/sheets/family", {"language": "es"})
    page = inside.get(f"{at}/sheets/family.html").text
    assert '<html lang="es"' in page
    inside.post(f"{at}/sheets/family", {"language": "../../x"})
    assert '<html lang="en"' in inside.get(f"{at}/sheets/family.html").text


def test_no_title_holds_the_key_and_the_policy_allows_the_sheets_own_style_only(inside: Client) -> None:
    at = child(inside)
    for kind in ("surgeon", "family"):
        page = inside.get(f"{at}/sheets/{kind}.html")
        assert "TW-204" not in page.title
        style = re.search(r"<style>(.*?)</style>", page.text, re.DOTALL)
        assert style is not None
        digest = b64encode(sha256(style[1].encode()).digest()).decode()
        policy = page.header("content-security-policy")
        assert f"style-src 'sha256-{digest}'" in policy
        assert policy.startswith("default-src 'none';")
        assert "script-src" not in policy
        assert "<script" not in page.text


def test_without_an_answer_there_is_no_sheet(inside: Client) -> None:
    at = inside.new_child({"age_years": "99"})
    assert "there is no sheet" in inside.get(f"{at}/sheets").words
    for kind in ("surgeon.html", "surgeon.pdf", "family.html", "family.pdf"):
        assert inside.get(f"{at}/sheets/{kind}").status == 409


def test_a_plan_that_contradicts_itself_has_no_number_for_the_family(inside: Client) -> None:
    at = child(inside, "EH-112")
    number = "Our best guess is"
    assert number in inside.get(f"{at}/sheets/family.html").words
    inside.upload(f"{at}/plans/open", (demonstration.FOLDER / "plans" / "EH-112.toml").read_bytes())
    told = inside.get(f"{at}/sheets/family.html").words
    assert "We still work on the plan for the operation." in told
    assert number not in told


def test_a_halo_that_the_case_does_not_plan_is_not_ticked(inside: Client) -> None:
    at = child(inside, "EH-112")
    page = inside.post(f"{at}/sheets/family", {"tick": "halo"})
    assert page.status == 422
    assert "the tick halo goes with planned_support = halo" in page.words
    assert "A halo is a ring" not in inside.get(f"{at}/sheets/family.html").words


def test_a_refused_number_has_both_sheets(inside: Client) -> None:
    at = child(inside, "HS-009")
    assert "No number is shown" in inside.get(f"{at}/sheets/surgeon.html").words
    assert "too few children like yours" in inside.get(f"{at}/sheets/family.html").words
