"""The page of words names every word that the program shows as a name, and no other."""

import re
from pathlib import Path

from tests.architecture import written
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
    assert len(held["label"]) > 150
    # One of each place that words are looked for in.
    for kind, word in (
        ("command", "riskmodel score"),
        ("option", "--help"),
        ("place holder", "COHORT"),
        ("choice", "closed_test"),
        ("tick", "growing_up"),
        ("heading", "Desk"),
        ("heading", "When to call"),
        ("heading", "Limits"),
        ("label", "Put away"),
        ("label", "Kept answers"),
        ("label", "decided"),
        ("label", "What you may ask."),
        ("file", "NAME.riskmodel.json"),
        ("file", "NAME.assessment.html"),
        ("file", "NAME.pooled.html"),
    ):
        assert word in held[kind], (kind, word)


PAGE = """<h2>Cautions</h2><form><label for="a">Tower {{ number }} height</label>
<button name="go">Gallop<span class="unseen"> now</span></button>{% if x %}<a href="/">to</a>{% endif %}</form>"""
SHEET = """#heading(level: 2, "Meadow")
#text(fill: luma(70), "brook:") #table.header("reed", "rush") *Willow.*"""
BLOCKS = """def sections():
    yield "Harvest", (Table("Acres", ("field", told), rows), Facts((("weather", held.weather),)))
"""
CODE = """def write(folder, name, kind):
    results.write(folder, held, "orchard", told, page)
    (folder / f"{name}.barley.json").write_text("no file: a.json in a sentence")
"""


def test_a_planted_word_is_found_wherever_it_is_planted(tmp_path: Path) -> None:
    for name, text in {
        "riskmodel/web/templates/a.html.jinja": PAGE,
        "riskmodel/documents/templates/a.typ": SHEET,
        "riskmodel/documents/card/page.py": BLOCKS,
        "training/report/drafts/files.py": CODE,
    }.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert set(written.headings(tmp_path)) == {"Cautions", "Meadow", "Harvest"}
    on_pages, on_sheets, on_the_card = {"Tower height", "Gallop now"}, {"brook", "reed", "rush"}, {"Acres", "field"}
    assert set(written.labels(tmp_path)) == on_pages | on_sheets | on_the_card | {"Willow", "weather"}
    assert set(written.files(tmp_path)) == {"NAME.barley.json", "NAME.orchard.html"}
