"""When a number is shown: less known, fewer like cases, narrower ranges and a later day never open what was refused."""

import json
from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import date, timedelta
from random import Random
from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.bundle import Bundle, Ranges, Support, SupportCell
from riskmodel.documents import answer
from riskmodel.eligibility import Requirement
from riskmodel.gates import BLOCKING
from riskmodel.scoring import RiskEstimate, Scorer
from tests.properties import MANY, seeded
from tests.riskmodel.documents.builders import ON, bundle

BUNDLE = bundle()
SCORER = Scorer(BUNDLE)
CODES = {name: variable.codes for name, variable in BUNDLE.dictionary.variables.items()}
READ = ("age_years", "condition", "reduces", "upper_level", "prior_cvj_surgery")
LAX = tuple(level.code for level in BUNDLE.dictionary.variables["condition"].levels if level.group == "laxity")


def _case(random: Random) -> dict[str, Any]:
    """A case that is shown more often than not: now and then a value is strange, known too late, or not there."""
    held: dict[str, Any] = {
        "age_years": random.randint(15, 175) / 10,
        "condition": random.choice(LAX),
        "reduces": random.choice((*CODES["reduces"], "not_tested")),
        "upper_level": random.choice(("O", "C1")),
        "prior_cvj_surgery": random.choice((0, 1)),
    }
    strange = {
        "age_years": random.choice((0.5, 19.0)),
        "condition": random.choice(CODES["condition"]),
        "upper_level": "C2",
        "prior_cvj_surgery": 2,
        "fixation_failure": "yes",
    }
    for name, value in strange.items():
        if random.random() < 0.15:
            held[name] = value
    return {name: value for name, value in held.items() if random.random() < 0.9}


CASES = seeded(_case)
Case = Mapping[str, Any]


def scored(case: Case, *, by: Bundle = BUNDLE, on: date = ON) -> RiskEstimate:
    scorer = SCORER if by is BUNDLE else Scorer(by)
    return scorer.score(case, on=on)


def passed(held: RiskEstimate) -> dict[str, bool]:
    return {gate.name: gate.passed for gate in held.gates}


def without_gates(held: RiskEstimate) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(json.dumps(asdict(held)))
    return {name: value for name, value in told.items() if name != "gates"}


@MANY
@given(
    CASES, st.sets(st.sampled_from(sorted(("age_years", "condition", "reduces", "upper_level", "prior_cvj_surgery"))))
)
def test_what_is_no_longer_known_opens_neither_eligible_nor_like_cases_and_closes_neither_range_nor_moment(
    case: dict[str, Any], forgotten: frozenset[str]
) -> None:
    before = passed(scored(case))
    after = passed(scored({name: value for name, value in case.items() if name not in forgotten}))
    for gate in ("eligible", "like_cases"):
        assert after[gate] <= before[gate]
    for gate in ("range", "moment"):
        assert before[gate] <= after[gate]
    assert {gate: after[gate] for gate in after if gate not in BLOCKING} == {
        gate: before[gate] for gate in before if gate not in BLOCKING
    }


@MANY
@given(CASES, st.integers(0, 45), st.integers(0, 45), st.integers(0, 60))
def test_fewer_like_cases_or_more_asked_for_never_open_a_refusal(
    case: dict[str, Any], few: int, more: int, needed: int
) -> None:
    few, more = sorted((5 * (few // 5), 5 * (more // 5)))
    fewer, many = (_with_cells(count, needed) for count in (few, more))
    assert scored(case, by=fewer).shown <= scored(case, by=many).shown
    assert scored(case, by=_with_cells(more, needed + 1)).shown <= scored(case, by=many).shown
    told = scored(case, by=many)
    assert not told.shown or more >= needed


def _with_cells(count: int, needed: int) -> Bundle:
    """As many children of every kind, and as many asked for."""
    groups = dict.fromkeys(level.group for level in BUNDLE.dictionary.variables["condition"].levels if level.group)
    cells = tuple(SupportCell((group,), count) for group in groups)
    gates = replace(BUNDLE.gates, like_cases_at_least=needed)
    return replace(BUNDLE, support=(Support(("biology_group",), cells),), gates=gates)


@MANY
@given(CASES, st.integers(-400, 1200), st.integers(-400, 1200))
def test_a_later_day_never_opens_a_refusal_and_changes_nothing_else(case: dict[str, Any], one: int, two: int) -> None:
    early, late = (BUNDLE.released + timedelta(days) for days in sorted((one, two)))
    before, after = scored(case, on=early), scored(case, on=late)
    if early >= BUNDLE.released:
        assert after.shown <= before.shown
    assert after.shown <= (BUNDLE.released <= late <= BUNDLE.review_by)
    assert {**passed(before), "expiry": None} == {**passed(after), "expiry": None}
    if before.shown is after.shown:
        assert without_gates(before) == without_gates(after)


@MANY
@given(CASES, st.floats(1.5, 17.5), st.floats(1.5, 17.5), st.sets(st.sampled_from(("O", "C1"))), st.integers(0, 2))
def test_narrower_ranges_and_further_conditions_never_open_a_refusal(
    case: dict[str, Any], one: float, two: float, levels: set[str], most: int
) -> None:
    ranges = Ranges({"age_years": (min(one, two), max(one, two))}, {"upper_level": tuple(sorted(levels))})
    only = (*BUNDLE.gates.only, Requirement("prior_cvj_surgery", at_most=float(most)))
    strict = replace(BUNDLE, ranges=ranges, gates=replace(BUNDLE.gates, only=only))
    assert scored(case, by=strict).shown <= scored(case).shown


@MANY
@given(CASES)
def test_what_is_refused_is_told_nowhere_and_why_is_named_gate_by_gate(case: dict[str, Any]) -> None:
    held = scored(case)
    refusing = [gate.name for gate in held.gates if gate.blocks and not gate.passed]
    assert held.shown is (refusing == [])
    assert {gate.name for gate in held.gates if gate.blocks} == set(BLOCKING)
    table = SCORER.read_case(case)[0]
    arrays = SCORER.arrays(table, on=ON)
    assert bool(arrays.shown[0]) is held.shown
    numbers = (held.probability, held.low, held.high)
    for number, column in zip(numbers, (arrays.probability, arrays.low, arrays.high), strict=True):
        assert (number is None) == bool(np.isnan(column[0])) == (not held.shown)
        assert number is None or abs(number - column[0]) < 1e-12
    document = answer.result(held)
    if not held.shown:
        assert [document[name] for name in ("probability", "interval", "log_odds")] == [None] * 3
        assert document["contributions"] == []
        assert document["published"] is not None
    else:
        assert held.published is None


@MANY
@given(CASES)
def test_the_point_lies_in_its_interval_and_a_quick_answer_is_the_same_answer(case: dict[str, Any]) -> None:
    table = SCORER.read_case(case)[0]
    (whole,), (quick,) = SCORER.score_table(table, on=ON), SCORER.score_table(table, on=ON, measuring=False)
    assert {**without_gates(whole), "missing": []} == without_gates(quick)
    if whole.shown:
        assert whole.low is not None
        assert whole.high is not None
        assert whole.probability is not None
        assert whole.low <= whole.probability <= whole.high
        assert all(line.low <= line.high for line in whole.contributions)
        assert all(0 <= (line.same_sign_share or 0.0) <= 1 for line in whole.contributions)
