"""Reporting drafts: every item is filled from the run or left to people by name, and nothing is claimed unasked."""

from dataclasses import replace
from datetime import date

import pytest

from riskmodel.bundle import Bundle
from tests import demonstration
from tests.training.updating import worlds
from training.report.drafts import Answer, drafts, entries
from training.report.drafts.probast import answers
from training.report.drafts.prompts import SECTIONS
from training.updating import check_elsewhere, noted, update

# The 27 items of TRIPOD+AI and their parts, by number: Collins et al., BMJ 2024;385:e078378; cross-checked against a
# public list of the items when they were written down, parts from memory.
PARTS = {3: "abc", 5: "ab", 6: "abc", 8: "abc", 9: "abc", 12: "abcdefg", 18: "abcdef", 20: "abc", 23: "ab", 27: "abc"}
NUMBERS = [f"{item}{part}" for item in range(1, 28) for part in PARTS.get(item, [""])]
# What a program must never fill in for people.
PEOPLES = {"3a", "3c", "4", "8c", "17", "18a", "18b", "18d", "19", "25", "27b", "27c"}


def bundle() -> Bundle:
    return worlds.model()


def checked() -> Bundle:
    found = check_elsewhere(
        bundle(), demonstration.protocol(worlds.REVISION), worlds.others(), on=date(2027, 1, 1), times=20
    )
    return worlds.written(noted(found))


def test_all_27_items_are_there_each_filled_or_left_to_people() -> None:
    held = entries(bundle())
    assert [entry.number for entry in held] == NUMBERS
    assert len(NUMBERS) == 52
    for entry in held:
        assert entry.filled or entry.to_write, entry.number
    assert [number for numbers in SECTIONS.values() for number in numbers] == NUMBERS


def test_what_only_people_can_say_is_never_filled_in() -> None:
    held = {entry.number: entry for entry in entries(bundle())}
    for number in PEOPLES:
        assert not held[number].filled, number
        assert held[number].to_write.endswith("."), number


def test_the_whole_model_and_its_limits_are_in_the_draft() -> None:
    text = drafts(bundle())[f"{bundle().id}.reporting.md"]
    lines = [line for line in text.splitlines() if line.startswith("| ")]
    assert sum(len(bundle().terms) > 0 and "to " in line for line in lines) >= len(bundle().coefficients)
    assert "not measured on your patients" in text
    assert "c-statistic" in text
    assert "To be reviewed" not in text
    assert text.count("For you to write:") >= len(PEOPLES)


def test_a_check_and_an_update_are_told() -> None:
    after = checked()
    text = drafts(after)[f"{after.id}.reporting.md"]
    assert "2027-01-01, 4 centres: at least 215 children, at least 15 events" in text
    draws = bundle().draws.copy()
    draws[:, 0] -= 1.5
    wrong = replace(bundle(), intercept=bundle().intercept - 1.5, draws=draws)
    protocol = demonstration.protocol(worlds.REVISION)
    changed = update(wrong, protocol, worlds.others(), on=date(2027, 1, 1), draws=99).bundle
    assert "closed test: intercept" in drafts(changed)[f"{changed.id}.reporting.md"]
    assert "No update was made." in text


def test_the_assessment_asks_as_many_questions_as_the_tool() -> None:
    """PROBAST+AI has 16 questions for development and 18 for evaluation (Moons et al., BMJ 2025;388:e082505)."""
    held = answers(bundle())
    assert [sum(question.part == part for question in held) for part in ("development", "evaluation")] == [16, 18]
    assert len({question.domain for question in held}) == 4
    for question in held:
        assert question.asks.endswith("?")
        assert question.grounds


def answer(held: Bundle, part: str, asks: str) -> Answer:
    (found,) = [q.answer for q in answers(held) if q.part == part and asks in q.asks]
    return found


def test_a_cohort_too_small_is_held_against_the_model() -> None:
    assert bundle().advice["verdict"] == "do not refit"
    assert answer(bundle(), "development", "enough children") is Answer.NO
    large = replace(bundle(), advice={**bundle().advice, "verdict": "refit"})
    assert answer(large, "development", "enough children") is Answer.YES
    silent = replace(bundle(), advice={})
    assert answer(silent, "development", "enough children") is Answer.FOR_YOU


def test_an_evaluation_that_never_was_is_not_claimed() -> None:
    assert answer(bundle(), "evaluation", "other children used") is Answer.NO
    assert answer(bundle(), "evaluation", "ranking and calibration") is Answer.FOR_YOU
    assert answer(checked(), "evaluation", "other children used") is Answer.YES
    assert answer(checked(), "evaluation", "enough events") is Answer.NO
    assert "Not yet evaluated on other patients" in drafts(bundle())[f"{bundle().id}.assessment.md"]
    assert "Not yet evaluated" not in drafts(checked())[f"{bundle().id}.assessment.md"]


def test_plans_read_from_operation_notes_count_against_the_model() -> None:
    noted_late = replace(bundle(), protocol={**bundle().protocol, "planned_from_operation_note": True})
    assert answer(noted_late, "development", "known when the estimate") is Answer.NO
    assert answer(bundle(), "development", "known when the estimate") is Answer.YES


@pytest.mark.parametrize("ending", ["md", "html"])
def test_both_drafts_carry_the_cautions(ending: str) -> None:
    for name, text in drafts(bundle()).items():
        if name.endswith(ending):
            assert "does not replace the judgement of the treating team" in text
            assert "invented data" in text


def test_a_plain_outcome_without_times_can_be_reported_too() -> None:
    held = worlds.halves()[0]
    assert answer(held, "development", "censoring") is Answer.FOR_YOU
    assert "no times" in drafts(held)["kyphosis.assessment.md"]
    assert [entry.number for entry in entries(held)] == NUMBERS
