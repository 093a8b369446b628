"""One estimate in many renderings: one range, outward, the point inside; accounts add up, and refused is refused."""

import re
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from hypothesis import given

from riskmodel.bundle import Use
from riskmodel.documents import answer_text, family, surgeon
from riskmodel.documents.exchange import Release, hook_response, risk_assessment
from riskmodel.documents.family import FamilyOptions, FamilySheet
from riskmodel.documents.family.model import Look
from riskmodel.documents.family.numbers import LIKE_CASES, WIDEST
from riskmodel.documents.scored import Scored, score
from riskmodel.documents.surgeon import Conference
from riskmodel.documents.words import signed
from riskmodel.like_cases import count_words
from riskmodel.scoring import LikeCases
from tests.properties import MANY, seeded
from tests.properties.test_refusals import CASES, SCORER
from tests.riskmodel.documents.builders import ON

CASE = {"age_years": 4.0, "condition": "down", "reduces": "awake", "upper_level": "C1", "prior_cvj_surgery": 0}
SHOWN = score(SCORER, CASE, on=ON, case_id="X-001")
Risk = tuple[float, float, float]


def _risk(random: Random) -> Risk:
    """Low, point and high; now and then whole children of 100, or of 1000, or all three nearly one."""
    steps = random.choice((100, 1000, 10**6))
    low, point, high = sorted(random.randint(1, steps - 1) / steps for _ in range(3))
    return (low, point, high) if random.random() < 0.8 else (point - 1e-9, point, point + 1e-9)


def _told(random: Random) -> Scored:
    """An answer that a family may be told, or not, for any of the reasons that there are."""
    low, point, _ = _risk(random)
    risk = low, point, min(point + random.choice((0.01, 0.1, 0.5)), 0.999)
    use = random.choice((Use.STUDY, Use.LOCAL))
    bundle = replace(SHOWN.bundle, use=use, demonstration=random.random() < 0.7)
    held = replace(with_risk(risk, like=5 * random.randint(0, 12)), bundle=bundle)
    return replace(held, plan_contradicts=random.random() < 0.2)


def with_risk(risk: Risk, like: int = 40) -> Scored:
    cells = (LikeCases("kind", count_words(like)),)
    low, point, high = risk
    return replace(SHOWN, estimate=replace(SHOWN.estimate, low=low, probability=point, high=high, like_cases=cells))


RISKS, ANSWERS = seeded(_risk), seeded(_told)


def numbers_in(words: str) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", words)]


def page(answer: Scored) -> surgeon.SurgeonPage:
    return surgeon.compose([answer], Conference("X-001", ON))


def sheet(answer: Scored) -> FamilySheet:
    return family.summarise([answer], FamilyOptions(reasons=True), on=ON)


@MANY
@given(RISKS)
def test_every_rendering_tells_the_same_range_outward_and_the_point_inside(risk: Risk) -> None:
    answer = with_risk(risk)
    strip = page(answer).strips[0]
    assert strip.low is not None
    assert strip.high is not None
    assert strip.likely is not None
    told = int(strip.low), int(strip.likely), int(strip.high)
    assert told[0] <= told[1] <= told[2]
    assert told[0] <= 100 * risk[0] + 1e-6
    assert told[2] >= 100 * risk[2] - 1e-6
    low, high, of, level, best = numbers_in(answer_text.headline(answer.estimate))[:5]
    assert (low, best, high, of, level) == (*told, 100, 90)
    (card,) = hook_response(answer, on=ON)["cards"]
    assert numbers_in(card["summary"].split(":")[0]) == [told[0], told[2], 100, told[1]]
    html = surgeon.to_html(page(answer))
    assert f"{told[0]} to {told[2]}</b> in 100 (90% range), best estimate {told[1]};" in html


@MANY
@given(RISKS)
def test_a_resource_holds_the_point_within_the_interval_to_a_tenth_of_a_percent(risk: Risk) -> None:
    for release in Release:
        interval, point = risk_assessment(with_risk(risk), release, on=ON)["prediction"]
        held = [interval["probabilityRange"][end]["value"] for end in ("low", "high")]
        assert held[0] <= point["probabilityDecimal"] <= held[1]
        assert held == pytest.approx([100 * risk[0], 100 * risk[2]], abs=0.05 + 1e-9)


@MANY
@given(CASES)
def test_the_account_that_is_shown_adds_up_to_the_total_that_is_shown(case: dict[str, Any]) -> None:
    answer = score(SCORER, case, on=ON)
    (account,) = page(answer).accounts or (None,)
    assert (account is not None) is answer.estimate.shown
    if account is None:
        return
    assert account.base + sum(line.log_odds for line in account.lines) == pytest.approx(account.total, abs=1e-9)
    printed = [_number(signed(value)) for value in (account.base, *(line.log_odds for line in account.lines))]
    assert abs(sum(printed) - _number(signed(account.total))) <= 0.005 * (len(printed) + 1) + 1e-9


def _number(words: str) -> float:
    return float(words.replace("\N{MINUS SIGN}", "-"))


@MANY
@given(ANSWERS)
def test_a_family_gets_whole_numbers_in_order_or_none_at_all(answer: Scored) -> None:
    made = sheet(answer)
    (held,) = made.numbers
    (part,) = (part for part in made.parts if part.look is Look.NUMBERS)
    estimate = answer.estimate
    assert estimate.low is not None
    assert estimate.high is not None
    refused = answer.like_cases < LIKE_CASES or 100 * (estimate.high - estimate.low) >= WIDEST
    refused |= answer.plan_contradicts or (answer.bundle.use is Use.STUDY and not answer.bundle.demonstration)
    if refused:
        assert (held.low, held.likely, held.high, held.raised, held.lowered, part.picture) == (
            *[None] * 3,
            (),
            (),
            None,
        )
        allowed = {held.published_low, held.published_high, held.total}
        assert {number for text in part.sentences for number in numbers_in(text)} <= allowed
    else:
        assert held.low is not None
        assert held.likely is not None
        assert held.high is not None
        assert 0 <= held.low <= held.likely <= held.high <= held.total
        words = " ".join(part.sentences)
        assert f"{held.likely}" in words
        assert {held.likely, held.total - held.likely} <= set(numbers_in(words))


@MANY
@given(ANSWERS)
def test_a_family_is_never_told_more_where_fewer_were_alike_or_the_range_is_wider(answer: Scored) -> None:
    estimate = answer.estimate
    fewer = replace(estimate, like_cases=(LikeCases("kind", count_words(max(answer.like_cases - 5, 0))),))
    wider = replace(estimate, high=min((estimate.high or 0.0) + 0.1, 0.9999))
    told = sheet(answer).numbers[0].why is None
    for less in (fewer, wider):
        assert (sheet(replace(answer, estimate=less)).numbers[0].why is None) <= told
