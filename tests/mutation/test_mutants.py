"""The table of faults, the page about it, and the way faults are planted."""

import ast
import csv
import re

import pytest

from tests.mutation.__main__ import ROOT, SAMPLE, TABLE, everything, sample
from tests.mutation.sites import NOTHING, planted, sites


def test_a_fault_is_one_change_of_a_computation() -> None:
    source = 'def f(x: int = 3) -> float:\n    """Of 7."""\n    return 2.5 * x if x > 0 else -x\n'
    found = {site.words: planted(source, site) for site in sites(source)}
    assert set(found) == {
        "3 to 4",
        "branches swapped",
        "Mult to Div",
        "2.5 to 5.0",
        "Gt to GtE",
        "0 to 1",
        "USub dropped",
    }
    plain = planted(source, NOTHING)
    assert ast.dump(ast.parse(plain)) == ast.dump(ast.parse(source))
    for words, text in found.items():
        assert text != plain, words
        ast.parse(text)


def test_messages_and_types_are_left_alone() -> None:
    source = 'def f(x: "list[3]") -> None:\n    raise ValueError(f"{x + 1} at most {7}")\n'
    assert sites(source) == ()


def test_the_sample_is_the_same_every_time() -> None:
    assert sample(5) == sample(5)
    assert len(set(sample())) == SAMPLE < len(everything())


def test_at_least_85_of_100_are_noticed_and_every_survivor_has_its_sentence() -> None:
    with TABLE.open(encoding="utf-8", newline="") as held:
        rows = list(csv.DictReader(held))
    survived = [row for row in rows if row["outcome"] == "survived"]
    assert len(rows) == SAMPLE
    assert 1 - len(survived) / len(rows) >= 0.85
    page = (ROOT / "docs" / "mutants.md").read_text(encoding="utf-8")
    told = re.findall(r"^\| (\S+) (\d+) \| `([^`]+)` \| .+ \|$", page, re.MULTILINE)
    assert sorted(told) == sorted((row["module"], row["line"], row["fault"]) for row in survived)


@pytest.mark.parametrize("outcome", ["noticed", "never ended", "survived"])
def test_every_outcome_was_seen(outcome: str) -> None:
    assert outcome in TABLE.read_text(encoding="utf-8")
