"""The validation report: self-contained, the same twice, words for every figure, a reason for every missing number."""

import base64
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

from riskmodel.documents import html, markdown
from riskmodel.documents.blocks import Figures, Page, Table
from tests import demonstration
from tests.training.validation.worlds import plain, validation
from training.fitting import Trained, fit
from training.protocol import CANDIDATES
from training.report.validation import document, page
from training.report.validation.first import first
from training.validation import Validation, examine
from training.validation.centres import leave_one_out
from training.validation.eras import before_and_after
from training.validation.refit import Examined

NUMBERS = {"value", "apparent", "harrell", "point632plus", "low", "high", "moved", "log_loss", "mean_risk"}


@cache
def with_all_candidates() -> tuple[Trained, Validation]:
    """A small world with every candidate, few replays."""
    cohort, protocol = plain(300)
    trained = fit(cohort, replace(protocol, fit=replace(protocol.fit, candidates=CANDIDATES)), times=2)
    return trained, examine(trained)


@cache
def page_of_all() -> Page:
    trained, found = with_all_candidates()
    return page(trained, found, trained.bundle)


def drawn() -> Page:
    trained = demonstration.trained()
    return page(trained, validation(), trained.bundle)


made = cache(drawn)


def numbers() -> dict[str, Any]:
    trained = demonstration.trained()
    return document(trained, validation(), trained.bundle)


def test_the_page_needs_nothing_but_itself() -> None:
    text = html.to_html(made())
    assert "<script" not in text
    for address in re.findall(r'(?:href|src)="([^"]*)"', text):
        assert address.startswith("data:image/svg+xml;base64,"), address[:60]
    outside = [found for found in re.findall(r"https?://[^\s\"<)]+", text) if "www.w3.org" not in found]
    assert not outside


def test_pictures_are_drawings_and_draw_the_same_twice() -> None:
    text = html.to_html(made())
    pictures = re.findall(r"data:image/svg\+xml;base64,([^\"]+)", text)
    assert len(pictures) >= 7
    for held in pictures:
        svg = base64.b64decode(held).decode("utf-8")
        assert svg.rstrip().endswith("</svg>")
        assert "<dc:date>" not in svg
    assert html.to_html(drawn()) == text


def test_every_figure_says_in_words_what_it_shows() -> None:
    figures = [
        each
        for section in made().sections
        for block in section.blocks
        if isinstance(block, Figures)
        for each in block.held
    ]
    assert len(figures) >= 7
    for each in figures:
        assert re.search(r"\d", each.words), each.caption
        assert f'aria-label="{each.caption}"' in each.svg.replace("&#x27;", "'")
    plain = markdown.to_markdown(made())
    assert all(each.caption in plain for each in figures)


def test_the_sections_stand_in_reading_order() -> None:
    titles = [section.title for section in made().sections]
    assert titles[0] == "First"
    assert titles[-1] == "Cautions"
    assert titles.index("How well it did") < titles.index("Other centres") < titles.index("Beliefs and data")


def test_the_verdict_of_the_advice_comes_first() -> None:
    first = html.to_html(made()).split("</section>")[0]
    assert "do not refit; path: update with priors" in first
    assert "for study, not for use" in first


def test_the_tables_have_a_cell_for_every_head() -> None:
    for each in (made(), page_of_all()):
        tables = [block for section in each.sections for block in section.blocks if isinstance(block, Table)]
        assert tables
        for table in tables:
            assert all(len(row) == len(table.head) for row in table.rows), table.caption


def holes(held: Any, place: str = "") -> Iterator[str]:
    """Places where a number is null though no reason stands beside it."""
    if isinstance(held, dict):
        lacks = any(held[name] is None for name in NUMBERS & held.keys())
        if lacks and "reason" in held and held["reason"] is None:
            yield place
        for name, part in held.items():
            yield from holes(part, f"{place}.{name}")
    elif isinstance(held, list):
        for i, part in enumerate(held):
            yield from holes(part, f"{place}[{i}]")


def test_the_json_has_a_reason_for_every_missing_number() -> None:
    assert not list(holes(numbers()))


def test_the_json_is_json_and_has_the_keys_that_programs_read() -> None:
    text = json.dumps(numbers(), allow_nan=False)
    held = json.loads(text)
    wanted = {"format", "bundle", "n", "events", "measures", "replays", "instability", "centres", "era", "subgroups"}
    assert wanted | {"definitions"} <= held.keys()
    assert set(held["replays"]) == {"times", "failed", "shrunk_to_rate"}
    assert len(held["instability"]["per_child"]) == held["n"]
    assert [each["name"] for each in held["definitions"] if each["own"]] == ["revision"]
    assert set(held["measures"]["c"]) == {"apparent", "harrell", "point632plus", "low", "high", "reason"}


def test_page_and_json_tell_the_same_numbers() -> None:
    text, held = html.to_html(made()), numbers()
    for name in ("c", "brier"):
        assert f"{held['measures'][name]['harrell']:.3f}" in text
    pooled = held["centres"]["pooled"]["c"]
    to = "\N{NO-BREAK SPACE}to\N{NO-BREAK SPACE}"
    assert f"{pooled['value']:.2f} ({pooled['low']:.2f}{to}{pooled['high']:.2f})" in text
    assert str(held["era"]["from_year"]) in text


def test_no_childs_own_value_is_in_the_json_of_the_trees() -> None:
    trained, found = with_all_candidates()
    held = document(trained, found, trained.bundle)
    assert [each["name"] for each in held["trees"]] == ["trees_without_interactions", "trees"]
    for each in held["trees"]:
        assert set(each) == {"name", "rounds", "learning_rate", "slope", "importance", "adds_up_to", "reason"}
    assert held["candidates"]["shipped_against"]


def test_the_price_of_the_glass_box_is_told_with_its_interval() -> None:
    text = html.to_html(page_of_all())
    told = re.findall(r"Against trees the glass box costs (\S+) \((\S+)\s+to\s+(\S+)\) of log loss", text)
    assert len(told) == 1
    value, low, high = (float(each.replace("\N{MINUS SIGN}", "-")) for each in told[0])
    assert low <= value <= high


def test_trees_are_explained_in_pictures() -> None:
    captions = [
        each.caption
        for section in page_of_all().sections
        for block in section.blocks
        if isinstance(block, Figures)
        for each in block.held
    ]
    assert "What trees use" in captions
    assert "Trees: what a value adds" in captions


def test_a_cohort_without_centres_or_years_says_so() -> None:
    trained = demonstration.trained()
    bare = replace(trained, cohort=replace(trained.cohort, centre=None, year=None))
    held = Examined.of(bare)
    found = replace(validation(), centres=leave_one_out(held), eras=before_and_after(held))
    text = html.to_html(page(bare, found, trained.bundle))
    assert "the protocol names no centre" in text
    assert "no year of operation" in text


def test_replays_that_chose_otherwise_are_named_first() -> None:
    trained = demonstration.trained()
    mixed = replace(trained, replays=replace(trained.replays, chosen={"rate": 12, "penalised": 8}))
    told = "\n".join(first(mixed, validation(), trained.bundle))
    assert "In 12 of 20 replays the rule chose another candidate than penalised" in told
    assert "the rule chose" not in "\n".join(first(trained, validation(), trained.bundle))
