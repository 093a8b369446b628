"""The page of words names every word that the program shows as a name, and no other."""

import re

from tests.architecture.project import ROOT
from tests.architecture.words import words

ROW = re.compile(r"^\| ([^|]+) \| `([^`]+)` \| ([^|]+) \|$", re.MULTILINE)


def test_every_word_has_its_origin_and_no_word_is_left_over() -> None:
    rows = ROW.findall((ROOT / "docs" / "words.md").read_text(encoding="utf-8"))
    told = {(kind, word) for kind, word, _ in rows}
    shown = {(kind, word) for kind, held in words().items() for word in held}
    assert shown - told == set(), "without an origin in docs/words.md"
    assert told - shown == set(), "in docs/words.md, and shown nowhere"
    assert len(rows) == len(told)
    assert all(origin.strip() for _, _, origin in rows)


def test_enough_words_are_found_for_the_page_to_mean_something() -> None:
    held = words()
    assert all(held.values()), [kind for kind, found in held.items() if not found]
    assert len(held["heading"]) > 50
    assert "riskmodel score" in held["command"]
