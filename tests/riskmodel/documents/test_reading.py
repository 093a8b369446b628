"""The reading grade: syllables against words counted by hand, and the formula against its own arithmetic."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.documents.reading import Counts, count, grade, syllables

# Counted by hand, by ear, for this project; common practice, no source.
COUNTED = [line.split() for line in (Path(__file__).parent / "syllables.txt").read_text().splitlines()]


def test_there_are_enough_words_and_none_twice() -> None:
    assert len({word for word, _ in COUNTED}) == len(COUNTED) >= 200


@pytest.mark.parametrize(("word", "by_hand"), COUNTED)
def test_syllables_as_counted_by_hand(word: str, by_hand: str) -> None:
    assert syllables(word) == int(by_hand)
    assert syllables(word.capitalize()) == int(by_hand)


@pytest.mark.parametrize(
    ("number", "spoken"),
    # nought; seven; thirteen; twenty; eighty-four; one hundred; one hundred and twenty-seven; one thousand
    [(0, 2), (7, 2), (13, 2), (20, 2), (84, 3), (100, 3), (127, 8), (1000, 3), (2026, 7)],
)
def test_numbers_count_as_they_are_spoken(number: int, spoken: int) -> None:
    assert syllables(str(number)) == spoken


def test_the_grade_of_a_sentence_worked_by_hand() -> None:
    """6 words, 1 sentence, 6 syllables: 0.39 * 6 + 11.8 - 15.59 = -1.45 (formula of 1975, coefficients from memory)."""
    assert grade(["The cat sat on the mat."]) == pytest.approx(-1.45)
    # Operations 4, are 1, planned 1; the 1, surgeon 2, explains 2, everything 3, carefully 3.
    texts = ["Operations are planned.", "The surgeon explains everything carefully."]
    assert grade(texts) == pytest.approx(0.39 * 8 / 2 + 11.8 * 17 / 8 - 15.59)


def test_headings_and_list_items_end_a_sentence() -> None:
    assert count(["Call us", "new weakness", "fever"]) == Counts(5, 3, 7)


@given(
    st.lists(st.sampled_from(["We look again.", "Bone needs time.", "A halo, with 4 pins", ""]), max_size=8),
    st.integers(0, 8),
)
def test_counts_of_parts_add_up(texts: list[str], cut: int) -> None:
    assert count(texts[:cut]) + count(texts[cut:]) == count(texts)


def test_no_words_have_no_grade() -> None:
    assert grade(["", "..."]) == 0.0
