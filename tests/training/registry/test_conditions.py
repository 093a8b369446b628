"""Free-text conditions and level spellings: what the lists know, what is asked, what is refused."""

from pathlib import Path

import pytest

from tests.training.registry.build import HEAD, book, column, cvj, one, refused, rules, tidied
from training.registry import files
from training.registry.draft import draft_map
from training.registry.mapping.model import ColumnRule
from training.registry.reading.doubt import Doubt
from training.registry.reading.spans import read_span
from training.registry.targets import targets
from training.registry.words import read_words

DX = """
[sheet.column."Dx"]
to = "condition"
question_mark = "condition_confirmed=suspected"
[sheet.column."Dx".codes]
"T21" = "down"
"OI" = "osteogenesis_imperfecta"
"KFS + Goldenhar" = { condition = "goldenhar_oavs", second_condition = "klippel_feil" }
"DS" = "?"
"""
LEVELS = ("O", "C1", "C2", "C3", "C4")


def test_every_word_of_the_shipped_lists_is_one_of_the_dictionary() -> None:
    words, known = read_words(cvj()), targets(cvj())
    assert set(words.headers.values()) <= set(known)
    for name, spelt in words.spellings.items():
        assert set(spelt.values()) <= set(known[name].words), name
    for name, asked in words.ambiguous.items():
        assert {code for codes in asked.values() for code in codes} <= set(known[name].words), name
        assert not set(asked) & set(words.spellings.get(name, {})), f"asked and answered at once: {name}"
    for name, flag in words.flags.values():
        assert flag in known[name].words
    for span in words.spans:
        assert set(span.to) <= set(known)


def test_conditions_by_their_words(tmp_path: Path) -> None:
    headers, rows = one("Dx", ["t21", " T21 ", "down", "OI?", "KFS + Goldenhar"])
    held = tidied(tmp_path, headers, rows, DX)
    oi, goldenhar = "osteogenesis_imperfecta", "goldenhar_oavs"
    assert column(held, "condition") == ["down", "down", "down", oi, goldenhar]
    assert column(held, "condition_confirmed") == ["", "", "", "suspected", ""]
    assert column(held, "second_condition") == ["", "", "", "", "klippel_feil"]


def test_what_may_be_two_conditions_is_never_guessed(tmp_path: Path) -> None:
    headers, rows = one("Dx", ["DS", "DS?", "EDS", "Downs syndrom"])
    findings = refused(tmp_path, headers, rows, DX)
    assert rules(findings) == ["unanswered", "unanswered", "unknown_word", "unknown_word"]


# DS is Down syndrome or diastrophic dysplasia, SED has several forms: common practice, no source.
@pytest.mark.parametrize("word", ["DS", "SED", "EDS", "Morquio", "MPS IV", "KFS + Goldenhar"])
def test_the_draft_asks_about_ambiguous_conditions(tmp_path: Path, word: str) -> None:
    path = book(tmp_path / "r.xlsx", {"Registry": [(*HEAD, "Dx"), ("A-1", "2019-04-03", word)]})
    draft = draft_map(files.read(path), cvj())
    (line,) = [line for line in draft.splitlines() if line.partition("=")[2].startswith(' "?"') and "several" in line]
    assert word.casefold() in line


@pytest.mark.parametrize(
    ("cell", "ends"),
    [("Oc-C2", ("O", "C2")), ("O/C2", ("O", "C2")), ("C0\N{EN DASH}C2", ("O", "C2")), ("occ to C3", ("O", "C3")),
     ("C1/2", ("C1", "C2")), ("c1 - c2", ("C1", "C2")), ("1-2", ("C1", "C2")), ("O-3", ("O", "C3"))],
)  # fmt: skip
def test_spellings_of_levels(cell: str, ends: tuple[str, str]) -> None:
    spelt = dict.fromkeys(("oc", "occ", "c0"), (("", "O"),))
    assert read_span(cell, ColumnRule("Levels", codes=spelt, bare="C"), LEVELS) == ends


@pytest.mark.parametrize("cell", ["C2", "C2-C1", "C2-C2", "C1-C2-C3", "C1-C9", "skull-C2", "1-2"])
def test_levels_that_cannot_be_told_are_refused(cell: str) -> None:
    with pytest.raises(Doubt):
        read_span(cell, ColumnRule("Levels"), LEVELS)
