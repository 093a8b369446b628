"""What must not be summed, and files that do not belong together."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.errors import OutcomeRefused, SharesRefused
from tests.training.sharing.centres import NAMES, PLAIN, SECRETS, centres, protocol, settled
from tests.training.updating import worlds
from training.cohort import course
from training.outcome import at_horizon
from training.protocol import Form, Protocol
from training.sharing import Counts, Masks, Round, Sums, add_up, centre_name, count, files, freeze, judge, step


def counts(asked: Protocol | None = None) -> list[Counts]:
    return [count(held, asked or protocol(), PLAIN[name]) for name, held in centres().items()]


def first() -> Round:
    return freeze(protocol(), counts())


def sums(at: Round) -> list[Sums]:
    return [add_up(held, protocol(), at, PLAIN[name]) for name, held in centres().items()]


def other() -> Protocol:
    asked = protocol()
    return replace(asked, document={**asked.document, "title": "Something else"})


def test_a_centre_too_small_sends_nothing() -> None:
    held = centres()["TW"]
    failed, known = held.course.status == 1, at_horizon(held, protocol()).known
    few = held.take(np.concatenate([np.flatnonzero(failed)[:8], np.flatnonzero(~failed & known)[:32]]))
    with pytest.raises(SharesRefused, match=r"found 40 children, and \d+ columns .* at least \d+ children, so that no"):
        count(few, protocol(), PLAIN["TW"])


def test_a_centre_with_too_few_events_sends_nothing() -> None:
    held = centres()["TW"]
    status = held.course.status.copy()
    events = np.flatnonzero(status == 1)
    status[events[4:]] = 0
    few = replace(held, course=course(status, held.course.timed))
    with pytest.raises(OutcomeRefused, match="at least 5 known events and 5 known non-events"):
        count(few, protocol(), PLAIN["TW"])


def test_counts_of_another_protocol_are_refused_by_digest() -> None:
    parts = [*counts()[:2], count(centres()["HS"], other(), PLAIN["HS"])]
    with pytest.raises(SharesRefused, match="HS: found counts under another protocol or dictionary, digest"):
        freeze(protocol(), parts)


def test_a_round_of_another_protocol_is_not_answered() -> None:
    with pytest.raises(SharesRefused, match="a round of another protocol or dictionary"):
        add_up(centres()["TW"], other(), first(), PLAIN["TW"])


def test_an_answer_to_another_round_is_refused() -> None:
    at = first()
    later = step(protocol(), at, sums(at))
    with pytest.raises(SharesRefused) as refused:
        step(protocol(), later, sums(at))
    assert [finding.rule for finding in refused.value.findings] == ["other_round"] * 3


def test_a_missing_centre_and_one_twice_are_named() -> None:
    at = first()
    parts = sums(at)
    with pytest.raises(SharesRefused, match=r"found files of CM, TW; accepted: one file of each: CM, HS, TW"):
        step(protocol(), at, parts[:2])
    with pytest.raises(SharesRefused, match="found files of CM, CM, TW"):
        step(protocol(), at, [*parts[:2], parts[1]])
    with pytest.raises(SharesRefused, match="TW: found 2 files of one centre"):
        freeze(protocol(), [counts()[0], *counts()[:2]])


def test_one_centre_is_no_pool() -> None:
    with pytest.raises(SharesRefused, match="found 1 centre; accepted: at least 2"):
        freeze(protocol(), counts()[:1])


def test_a_centre_that_is_not_of_the_pool_is_named() -> None:
    with pytest.raises(SharesRefused, match="found the centre EH; accepted: one of CM, HS, TW"):
        add_up(centres()["TW"], protocol(), first(), Masks("EH", {}))


def test_judgement_is_given_when_it_is_asked_for() -> None:
    with pytest.raises(SharesRefused, match="found a round to fit; accepted: a round to judge"):
        judge(centres()["TW"], protocol(), first(), PLAIN["TW"])
    with pytest.raises(SharesRefused, match="found a round to judge; accepted: a round to fit"):
        add_up(centres()["TW"], protocol(), settled(), PLAIN["TW"])


def test_masks_must_be_of_all_centres_or_of_none() -> None:
    masked = {name: Masks(name, SECRETS[name]) for name in NAMES}
    mixed = [*counts()[:2], count(centres()["HS"], protocol(), masked["HS"])]
    with pytest.raises(SharesRefused) as refused:
        freeze(protocol(), mixed)
    assert {finding.rule for finding in refused.value.findings} == {"masks_differ"}
    with pytest.raises(SharesRefused, match="secrets with CM, HS; accepted: none: this pool is not masked"):
        add_up(centres()["TW"], protocol(), first(), masked["TW"])


def test_two_centres_cannot_hide_from_each_other() -> None:
    pair = {"TW": {"CM": SECRETS["TW"]["CM"]}, "CM": {"TW": SECRETS["CM"]["TW"]}}
    parts = [count(centres()[name], protocol(), Masks(name, held)) for name, held in pair.items()]
    with pytest.raises(SharesRefused, match="at least 3 centres: of two, each could read the other's sums"):
        freeze(protocol(), parts)


def test_a_protocol_that_leaves_something_to_the_cohort_is_refused_with_everything_at_once() -> None:
    asked = protocol()
    spline = replace(asked.predictors[0], form=Form.SPLINE)
    loose = replace(
        asked,
        predictors=(spline, *asked.predictors[1:]),
        fit=replace(asked.fit, choose="trees", centre_sd=0.4),
    )
    with pytest.raises(SharesRefused) as refused:
        count(centres()["TW"], loose, PLAIN["TW"])
    assert {finding.rule for finding in refused.value.findings} == {"no_knots", "no_sum", "centre_effects"}


def test_moments_need_complete_children_or_a_model() -> None:
    parts = [
        replace(part, sums={**part.sums, "complete": replace(part.sums["complete"], values=(9.0,))})
        for part in counts()
    ]
    with pytest.raises(SharesRefused, match="found 27 children of whom everything is known; accepted: at least 30, or"):
        freeze(protocol(), parts)
    other_model = worlds.halves()[0]
    with pytest.raises(SharesRefused, match="moments of Age, Number, Start"):
        freeze(protocol(), counts(), moments=other_model)


def test_the_centre_is_the_one_that_the_cohort_names() -> None:
    assert centre_name(centres()["TW"], None) == "TW"
    assert centre_name(replace(centres()["TW"], centre=None), "Here") == "Here"
    with pytest.raises(SharesRefused, match="children of 4 centres"):
        centre_name(worlds.others(5, 900), "TW")
    with pytest.raises(SharesRefused, match="no centre named"):
        centre_name(replace(centres()["TW"], centre=None), None)


def test_what_a_centre_sends_names_no_child_and_no_exact_small_count() -> None:
    part = counts()[0]
    text = files.text(part).decode()
    assert not any(key in text for key in centres()["TW"].cases.keys)
    assert all(number % 5 == 0 for held in part.levels.values() for number in held.values())
    assert "Treat this file as personal data" in text
    # In twentieths a share gives no size back; 0 is kept for fewer than 5 children.
    lacking = [np.count_nonzero(centres()["TW"].cases[name].missing) for name in part.missing_share]
    shares = list(part.missing_share.values())
    assert all(20 * share == pytest.approx(round(20 * share), abs=1e-9) for share in shares)
    assert [share == 0.0 for share in shares] == [count < 5 for count in lacking]
    assert any(share > 0.0 for share in shares)


def test_a_round_tells_no_centre_what_another_summed() -> None:
    assert all(part.sums == {} for part in first().counts)


@pytest.mark.parametrize("kind", ["counts", "round", "sums", "judgement"])
def test_every_file_is_read_as_it_was_written(tmp_path: Path, kind: str) -> None:
    at = first()
    every: dict[str, files.AnyFile] = {
        "counts": counts()[0],
        "round": at,
        "sums": sums(at)[0],
        "judgement": judge(centres()["TW"], protocol(), settled(), PLAIN["TW"]),
    }
    made = every[kind]
    path = tmp_path / "x.json"
    path.write_bytes(files.text(made))
    again = files.read(path)
    assert type(again) is type(made)
    assert files.text(again) == files.text(made)
    assert files.digest(again) == files.digest(made)


def test_a_file_that_was_cut_short_or_altered_is_refused(tmp_path: Path) -> None:
    path, text = tmp_path / "tw.json", files.text(counts()[0])
    path.write_bytes(text[: len(text) // 2])
    with pytest.raises(
        SharesRefused, match=r"tw\.json: found a file that is cut short, or no JSON; accepted: the whole"
    ):
        files.read(path)
    path.write_bytes(text.replace(b'"TW"', b'"CM"'))
    with pytest.raises(SharesRefused, match="was changed after it was written"):
        files.read(path)
    path.write_bytes(b"[1, 2]")
    with pytest.raises(SharesRefused, match="JSON of another kind"):
        files.read(path)
    with pytest.raises(SharesRefused, match="cannot be read"):
        files.read(tmp_path / "absent.json")
