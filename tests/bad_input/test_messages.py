"""Each bad file says exactly what it says in `messages.json`, and the table of the documents is made of the same."""

import json
import re

import pytest

from scripts import bad_files
from tests.bad_input.catalogue import catalogue
from tests.bad_input.kinds import Bad

# Place, what was found, what would be accepted.
FINDING = re.compile(r"(error|warning): [^:]+: found .+; accepted: .+")
# What has no place in a file: what must hold, and what is there instead.
WORDED = {
    "bundle": re.compile(r".+ cannot be read: .+|.*\bmust\b.+[;,] (found|this file|ask) ?.+|\S+ lacks .+; it must .+"),
    "kept answers": re.compile(r".+ cannot be used: .+; accepted: .+"),
    "sheet options": re.compile(
        r"Error: (Invalid value for '--\w+': '\w+' is not one of .+|.+; leave them out.+|--out must end in one of .+)"
    ),
}
MESSAGES = json.loads(bad_files.MESSAGES.read_text(encoding="utf-8"))


@pytest.mark.parametrize("bad", catalogue(), ids=lambda bad: f"{bad.kind}: {bad.what}")
def test_a_bad_file_is_refused_in_these_words(bad: Bad) -> None:
    assert bad.told() == MESSAGES[bad.kind][bad.what]


@pytest.mark.parametrize("bad", catalogue(), ids=lambda bad: f"{bad.kind}: {bad.what}")
def test_the_words_say_what_was_found_and_what_would_be_accepted_or_must_hold(bad: Bad) -> None:
    words = MESSAGES[bad.kind][bad.what]
    assert words
    for line in words:
        assert WORDED.get(bad.kind, FINDING).fullmatch(line), line
        assert len(line) < 400
        assert "Traceback" not in line


def test_every_kind_of_file_is_spoilt_and_none_is_listed_twice() -> None:
    named = [(bad.kind, bad.what) for bad in catalogue()]
    assert len(set(named)) == len(named) >= 60
    assert {kind: set(held) for kind, held in MESSAGES.items()} == {
        kind: {what for other, what in named if other == kind} for kind, _ in named
    }


def test_the_table_of_the_documents_is_up_to_date() -> None:
    assert bad_files.DOCUMENT.read_text(encoding="utf-8") == bad_files.document(MESSAGES)
