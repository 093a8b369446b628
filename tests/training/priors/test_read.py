"""Reading priors: for one outcome, scaled where the file says so, every fault at once."""

import math
from pathlib import Path

import pytest

from riskmodel.errors import PriorsRefused
from training.priors import Confidence, Grounds, Per, Prior, parse, read

ENTRY = {"term": "age_years", "mean": -0.2, "sd": 0.1, "source": "a paper", "confidence": "H"}


def document(*entries: dict[str, object], **head: object) -> dict[str, object]:
    return {"format": 1, **head, "prior": list(entries)}


def published(outcome: str) -> dict[tuple[str, str | None], Prior]:
    return {(prior.term, prior.column): prior for prior in read("published.toml", outcome)}


def test_an_entry_is_read_as_it_stands() -> None:
    (prior,) = parse(document({**ENTRY, "column": "old", "per": "level", "kind": "cp"}))

    assert prior == Prior("age_years", "old", -0.2, 0.1, Per.LEVEL, "a paper", Confidence.HIGH, Grounds.COMMON_PRACTICE)


@pytest.mark.parametrize(
    ("kind", "confidence", "keeps"),
    [("sourced", "H", True), ("sourced", "M", True), ("sourced", "L", False), ("own", "H", False), ("cp", "M", False)],
)
def test_only_a_firm_published_source_keeps_its_sd(kind: str, confidence: str, keeps: bool) -> None:
    (prior,) = parse(document({**ENTRY, "kind": kind, "confidence": confidence}))

    assert prior.keeps_sd is keeps


def test_the_base_always_keeps_its_sd() -> None:
    (prior,) = parse(document({**ENTRY, "term": "base", "kind": "own", "confidence": "L"}))

    assert prior.keeps_sd


def test_another_outcome_takes_the_means_times_its_factor_unless_an_entry_is_its_own() -> None:
    held = document(
        ENTRY,
        {**ENTRY, "term": "sex"},
        {**ENTRY, "mean": 7, "outcome": "revision"},
        outcome="failure",
        also_for={"revision": 0.5},
    )

    assert {prior.term: prior.mean for prior in parse(held, "failure")} == {"age_years": -0.2, "sex": -0.2}
    assert {prior.term: prior.mean for prior in parse(held, "revision")} == {"age_years": 7, "sex": -0.1}
    assert {prior.sd for prior in parse(held, "revision")} == {0.1}


@pytest.mark.parametrize("outcome", ["death", None])
def test_priors_of_another_outcome_are_refused(outcome: str | None) -> None:
    held = document(ENTRY, outcome="failure", also_for={"revision": 0.5})

    with pytest.raises(PriorsRefused, match=f"priors of failure, revision; accepted: priors of {outcome or 'a plain'}"):
        parse(held, outcome)


def test_a_file_that_names_no_outcome_serves_any() -> None:
    assert parse(document(ENTRY), "whatever") == parse(document(ENTRY), None)


def test_every_fault_is_found_at_once() -> None:
    held = document(
        {**ENTRY, "sd": 0},
        {**ENTRY, "term": "sex", "confidence": "X"},
        {"term": "height_cm", "source": "a paper", "confidence": "H"},
        {**ENTRY, "term": "nurick_grade", "meen": 3},
        {**ENTRY, "term": "padi_mm"},
        {**ENTRY, "term": "padi_mm"},
        formatt=2,
    )

    with pytest.raises(PriorsRefused) as refused:
        parse(held, sheet="own.toml")

    found = {(finding.column, finding.found) for finding in refused.value.findings}
    assert found == {
        ("prior[1].sd", "0"),
        ("prior[2].confidence", "X"),
        ("prior[3].mean", "nothing"),
        ("prior[3].sd", "nothing"),
        ("prior[4]", "the unknown key meen"),
        ("prior", "padi_mm twice"),
        (None, "the unknown key formatt"),
    }


def test_a_file_beside_the_protocol_comes_before_a_shipped_one(tmp_path: Path) -> None:
    own = 'format = 1\n[[prior]]\nterm = "sex"\nmean = 1\nsd = 2\nsource = "own"\nconfidence = "L"\nkind = "own"\n'
    (tmp_path / "published.toml").write_text(own, encoding="utf-8")

    assert [prior.term for prior in read("published.toml", beside=tmp_path)] == ["sex"]
    assert len(read("published.toml", "revision")) > 30
    with pytest.raises(PriorsRefused, match=r"no such file; accepted: .*published\.toml, vague\.toml"):
        read("nowhere.toml", beside=tmp_path)


def test_vague_priors_hold_nothing() -> None:
    assert read("vague.toml", "revision") == read("vague.toml") == ()


def test_published_base_rates_are_sixteen_and_eleven_in_a_hundred() -> None:
    for outcome, rate in (("fixation_failure", 0.16), ("revision", 0.11)):
        base = published(outcome)["base", None]
        assert base.mean == pytest.approx(math.log(rate / (1 - rate)), abs=5e-4)
        assert base.sd == 0.6


def test_published_effects_on_revision_are_four_fifths_of_those_on_failure_but_for_the_named_ones() -> None:
    failure, revision = published("fixation_failure"), published("revision")
    own = {("base", None), ("condition", "dysplasia"), ("nurick_grade", None)}

    assert failure.keys() == revision.keys()
    for place in failure.keys() - own:
        assert revision[place].mean == pytest.approx(0.8 * failure[place].mean, abs=1e-12)
        assert revision[place].sd == failure[place].sd
    assert (revision["condition", "dysplasia"].mean, revision["nurick_grade", None].mean) == (0.4, 0.06)


def test_published_sources_are_named_and_own_ones_say_so() -> None:
    for prior in read("published.toml", "fixation_failure"):
        own = "own proposal" in prior.source or "own reading" in prior.source
        assert own is (prior.grounds is not Grounds.SOURCED), prior.term


def test_down_syndrome_at_c1_c2_adds_up_to_less_than_half_of_the_published_odds_ratio() -> None:
    """Odds ratio 14.6 (3.7 to 64.0), 131 C1-C2 fusions, Spine 2018;43:754-760: shrunk, since two cuts of one O-C2
    cohort did not see it."""
    held = published("fixation_failure")
    total = sum(
        held[place].mean
        for place in [("condition", "laxity"), ("condition", "down"), ("condition=down x not includes_occiput", None)]
    )

    assert total == pytest.approx(1.1)
    assert 0 < total < math.log(14.6) / 2
