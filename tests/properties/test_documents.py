"""Documents: whatever is typed is printed as it was typed, and no text changes what a page is made of."""

import json
from dataclasses import replace
from random import Random

import pypdfium2
import pytest
from hypothesis import given

from riskmodel.documents import card, family, surgeon
from riskmodel.documents.exchange import Release, hook_response, risk_assessment
from riskmodel.documents.family import FamilyOptions
from riskmodel.documents.plain import plain
from riskmodel.documents.scored import Scored, score
from riskmodel.errors import DocumentRefused
from riskmodel.scoring import Scorer
from tests.properties import HARDLY, seeded
from tests.properties.pages import (
    NOT_IN_PDF,
    PIECES,
    Say,
    conference,
    harmless,
    leaves,
    model,
    of_html,
    of_markdown,
    one_line,
    strange,
)
from tests.riskmodel.documents.builders import ON

CASE = {"age_years": 4.0, "condition": "down", "upper_level": "C1", "prior_cvj_surgery": 0}
STRANGE = seeded(strange)


def answered(say: Say) -> Scored:
    """A case under a model of these words; reduction was not tested, so that something is not known."""
    held = score(Scorer(model(say)), CASE, on=ON, case_id="X-001")
    return replace(held, estimate=replace(held.estimate, case_id=say()))


def page(say: Say) -> surgeon.SurgeonPage:
    return surgeon.compose([answered(say)], conference(say), read_back_by=say())


@HARDLY
@given(STRANGE)
def test_no_text_changes_the_skeleton_of_the_surgeons_page_and_each_is_printed(say: Say) -> None:
    held, quiet = page(say), page(harmless())
    texts = [one_line(text) for text in leaves(held.conference)]
    for render, read in ((surgeon.to_html, of_html), (surgeon.to_markdown, of_markdown)):
        skeleton, words = read(render(held))
        assert skeleton == read(render(quiet))[0]
        missing = [text for text in texts if text not in words and text not in held.conference.between[0]]
        assert missing == []


@HARDLY
@given(STRANGE)
def test_no_text_changes_the_skeleton_of_the_card_and_the_titles_are_printed(say: Say) -> None:
    bundle = model(say)
    held, quiet = card.summarise(bundle), card.summarise(model(harmless()))
    for render, read in ((card.to_html, of_html), (card.to_markdown, of_markdown)):
        skeleton, words = read(render(held))
        assert skeleton == read(render(quiet))[0]
        for text in (bundle.title, bundle.outcome.label, *bundle.cautions):
            assert one_line(text) in words


@HARDLY
@given(STRANGE)
def test_no_text_changes_the_skeleton_of_the_familys_sheet(say: Say) -> None:
    held, quiet = (
        family.summarise(
            [replace(answered(words), bundle=replace(model(words), id=words(), demonstration=True))],
            FamilyOptions(reasons=True, initials=words(), talked_on=ON),
            on=ON,
        )
        for words in (say, harmless())
    )
    by_hand = (held.name_line, held.sign_line, *(blank for part in held.parts for blank in part.blanks))
    texts = [one_line(text) for text in held.texts if text not in by_hand]
    for render, read in ((family.to_html, of_html), (family.to_markdown, of_markdown)):
        skeleton, words = read(render(held))
        assert skeleton == read(render(quiet))[0]
        assert [text for text in texts if text not in words] == []


@HARDLY
@given(STRANGE)
def test_the_json_of_a_summary_reads_back_to_the_last_letter(say: Say) -> None:
    sheet, about = page(say), card.summarise(model(say))
    assert json.loads(surgeon.to_json(sheet)) == plain(sheet)
    assert json.loads(card.to_json(about)) == plain(about)
    answer = answered(say)
    for release in Release:
        made = json.loads(json.dumps(risk_assessment(answer, release, on=ON)))
        assert made["subject"]["identifier"]["value"] == answer.estimate.case_id
        assert made["code"]["text"] == answer.bundle.outcome.label


@HARDLY
@given(STRANGE)
def test_a_card_for_another_system_is_one_line_and_a_table_of_the_same_shape(say: Say) -> None:
    answer = answered(say)
    (held,), (quiet,) = (hook_response(each, on=ON)["cards"] for each in (answer, answered(harmless())))
    assert len(held["summary"]) < 140
    assert held["summary"] == " ".join(held["summary"].split())
    shape, words = of_markdown(held["detail"])
    assert shape == of_markdown(quiet["detail"])[0]
    assert one_line(answer.bundle.outcome.label) in words
    assert all(one_line(text) in words for text in answer.bundle.cautions)


@pytest.mark.parametrize("seed", range(2))
def test_a_pdf_prints_as_typed_what_its_fonts_have(seed: int) -> None:
    """Line ends and marks of direction are not looked for: they are set, not printed."""
    unseen = (*NOT_IN_PDF, "\n\n", "\r\n", "\x85", "\u2028", "\u202e", "\u2066", "\t", "e\u0301")
    turned = ("\u05e9\u05dc\u05d5\u05dd", "\u0627\u0644\u0633\u0644\u0627\u0645")
    pieces = tuple(piece for piece in PIECES if piece not in (*unseen, *turned))
    say = strange(Random(seed), pieces=pieces)  # noqa: S311 - texts, no secrets
    held = page(say)
    document = pypdfium2.PdfDocument(surgeon.to_pdf(held))
    printed = "".join("".join(each.get_textpage().get_text_range() for each in document).split())
    document.close()
    for text in (held.case_id, *held.conference.kit, *held.conference.stop_rules):
        assert "".join(text.split()) in printed.replace("\ufffe", "")


@pytest.mark.parametrize("sign", NOT_IN_PDF)
def test_a_pdf_that_cannot_print_a_sign_says_so_and_what_can(sign: str) -> None:
    with pytest.raises(DocumentRefused, match=r"could not be typeset: .*; accepted: .*\.html and \.md"):
        surgeon.to_pdf(replace(page(harmless()), case_id=f"q{sign}z"))
