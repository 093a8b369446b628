"""Languages: every message is there, nothing is half translated, and a draft says that it is one."""

import re
import runpy
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from riskmodel.bundle import OutcomeText, Use
from riskmodel.documents import family, languages
from riskmodel.documents.family import FamilyOptions, wording
from riskmodel.documents.languages import DRAFTS, available, language
from riskmodel.documents.scored import score
from riskmodel.errors import DocumentRefused
from riskmodel.scoring import Scorer
from tests.riskmodel.documents.builders import ON, bundle
from tests.riskmodel.documents.test_family import CASE, FULL, answer

ROOT = Path(__file__).parents[3]
SCRIPT: dict[str, Any] = runpy.run_path(str(ROOT / "scripts" / "catalogues.py"))
OTHERS = available()[1:]
HOLES = re.compile(r"{\w+}")


def _path(code: str, ending: str) -> Path:
    return ROOT / "riskmodel" / "documents" / "locale" / code / f"family.{ending}"


def test_english_comes_first_and_a_second_language_is_there() -> None:
    assert available()[0] == "en"
    assert len(available()) >= 2
    assert set(DRAFTS) <= set(OTHERS)


@pytest.mark.parametrize("code", OTHERS)
def test_every_message_of_the_source_is_translated_with_the_same_places_for_values(code: str) -> None:
    held = SCRIPT["translated"](_path(code, "po"))
    assert list(held) == SCRIPT["messages"]()
    for source, told in held.items():
        assert told, source
        assert sorted(HOLES.findall(source)) == sorted(HOLES.findall(told)), source


@pytest.mark.parametrize("code", OTHERS)
def test_what_is_compiled_is_what_is_written(code: str) -> None:
    assert _path(code, "mo").read_bytes() == SCRIPT["compiled"](SCRIPT["updated"](_path(code, "po")))


def test_every_sentence_of_the_wording_is_marked_for_translation() -> None:
    """A sentence that was not marked would come out in English in the midst of another language."""
    known = set(SCRIPT["messages"]())

    def texts(held: object) -> list[str]:
        if isinstance(held, str):
            return [held]
        parts = held.values() if isinstance(held, dict) else held if isinstance(held, tuple) else ()
        return [text for part in parts for text in texts(part)]

    for name, held in vars(wording).items():
        if name.isupper():
            assert set(texts(held)) - {"{label}", ""} <= known, name


def test_an_unknown_language_is_refused_with_those_that_there_are() -> None:
    with pytest.raises(DocumentRefused, match=r"no catalogue for the language 'xx'; there is one for: en, es"):
        language("xx")
    with pytest.raises(DocumentRefused, match="no catalogue"):
        language("../../secrets")


def test_a_message_that_a_catalogue_lacks_is_refused_not_left_in_english() -> None:
    empty = SCRIPT["compiled"](SCRIPT["Catalog"](locale="es"))
    held = languages.Language("es", languages._Strict(BytesIO(empty)).gettext)
    with pytest.raises(DocumentRefused, match="no translation of: 'Growing up'"):
        held.say(wording.GROWING_TITLE)


@pytest.mark.parametrize(("code", "words"), [("en", "2 December 2026"), ("es", "2 de diciembre de 2026")])
def test_dates_are_written_as_they_are_there(code: str, words: str) -> None:
    assert language(code).day(date(2026, 12, 2)) == words


@pytest.mark.parametrize("code", OTHERS)
def test_the_fullest_sheet_in_another_language_fits_two_pages_and_each_says_that_it_is_a_draft(code: str) -> None:
    made = family.summarise((answer(), answer(outcome="fixation_failure")), replace(FULL, language=code), on=ON)
    document = pypdfium2.PdfDocument(family.to_pdf(made))
    assert len(document) <= 2
    draft = language(code).say(wording.LANGUAGE_DRAFT)
    for page in document:
        assert draft in page.get_textpage().get_text_range()
    document.close()
    assert f'<html lang="{code}" dir="ltr">' in family.to_html(made)


def test_english_is_no_draft_translation() -> None:
    made = family.summarise((answer(),), FamilyOptions(), on=ON)
    assert wording.LANGUAGE_DRAFT not in made.marks


def test_an_outcome_without_words_for_families_is_refused_in_another_language() -> None:
    held = score(Scorer(bundle(outcome=OutcomeText("other", "Something else", None), use=Use.LOCAL)), CASE, on=ON)
    with pytest.raises(DocumentRefused, match="the outcome other has no words in the language 'es' yet"):
        family.summarise((held,), FamilyOptions(language="es"), on=ON)
    assert "Something else" in family.summarise((held,), FamilyOptions(), on=ON).texts


@pytest.mark.parametrize(("code", "direction"), [("ar", "rtl"), ("he-IL", "rtl"), ("es", "ltr"), ("en", "ltr")])
def test_the_direction_follows_the_language(code: str, direction: str) -> None:
    assert languages.Language(code, str).direction == direction
