"""The surgeon's page: order, refusals, the account, and that it stays legible whatever is missing."""

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2
import pytest

from riskmodel.bundle import Bundle, OutcomeText, Ranges
from riskmodel.documents import answer_text, surgeon
from riskmodel.documents.cautions import DEMONSTRATION, PLANNING, cautions
from riskmodel.documents.scored import Scored, score
from riskmodel.documents.surgeon import Conference, PlanLine, Step, SurgeonPage
from riskmodel.documents.surgeon.summarise import NOT_READ_BACK, WHAT_IT_IS
from riskmodel.drawing import Ladder, Mark, Rung, Site, ladder_drawing
from riskmodel.errors import Finding, Severity
from riskmodel.missing import Moments, balanced_normals
from riskmodel.scoring import Scorer
from riskmodel.terms import Linear, Term
from tests.riskmodel.documents.builders import CHECKED, ON, bundle

CASE = {"age_years": 4.0, "condition": "down", "reduces": "under_traction", "upper_level": "C1", "prior_cvj_surgery": 0}
HOSTILE = "<b>x</b> #strong[y] $z$ \\ *w* `v`"
TITLES = (
    "What is unstable, and why now",
    "Does it reduce",
    "Is the cord free",
    "Fewest levels that hold",
    "Anchors",
    "What will make it heal",
    "What if",
)
CONFERENCE = Conference(
    "TW-204",
    ON,
    top=(("age", "4 years"), ("weight", "16 kg")),
    steps=tuple(
        Step(i, title, ("measured so",), ("the other",), ("think of this",), "") for i, title in enumerate(TITLES, 1)
    ),
    ladder=ladder_drawing(Ladder((Rung("O"), Rung("C1", Site(Mark.FITS), Site(Mark.NOT)), Rung("C2")))),
    plans=(PlanLine("A", "screws and rods", "C1 to C2", "2 firm at each end", ("one rod with a connector",)),),
    between=((bundle().digest, ("A less B +1 in 100 (-4 to +5): these records cannot tell these plans apart",)),),
    rescue=(("C2 right", "lamina"),),
    kit=("screws of 2.7 mm",),
    stop_rules=("first side bled: the second side's risky path is not drilled",),
    watch=(("6 weeks", "film"),),
)


def scored(case: dict[str, Any] | None = None, **changes: Any) -> Scored:
    return score(Scorer(bundle(**changes)), case or CASE, on=ON)


def page(*answers: Scored, conference: Conference = CONFERENCE, read_back_by: str = "") -> SurgeonPage:
    return surgeon.compose(answers, conference, read_back_by=read_back_by)


def test_the_estimate_comes_last_and_the_range_before_the_point() -> None:
    told = surgeon.to_markdown(page(scored()))
    places = [told.index(title) for title in TITLES]
    assert places == sorted(places)
    order = ["Anchors", "Plan A", "If an anchor fails", "Kit", "Stop rules", "Estimate: "]
    assert [told.index(f"## {title}") for title in order] == sorted(told.index(f"## {title}") for title in order)
    assert max(places) < told.index("## Estimate: ")
    strip = page(scored()).strips[0]
    assert f"Between {strip.low} and {strip.high} in 100 (90% range); best estimate {strip.likely}" in told


def test_bounds_are_whole_children_and_rounded_outward() -> None:
    held = scored()
    strip = page(held).strips[0]
    assert held.estimate.low is not None
    assert held.estimate.high is not None
    assert int(strip.low or "") == np.floor(100 * held.estimate.low)
    assert int(strip.high or "") == np.ceil(100 * held.estimate.high)


def test_the_account_adds_up_from_the_base_to_this_child() -> None:
    (account,) = page(scored()).accounts
    assert account.base + sum(line.log_odds for line in account.lines) == pytest.approx(account.total, abs=1e-9)


def test_values_are_said_in_words() -> None:
    (account,) = page(scored()).accounts
    told = {line.label: line.value for line in account.lines}
    assert told["Age at the operation"] == "4 years"
    assert told["Main condition"] == "Down syndrome"
    assert "traction" in told["Reduces"].lower()
    assert any("Down syndrome × not (" in label for label in told)


def test_a_state_and_a_missing_value_are_said_in_words() -> None:
    (account,) = page(scored({**CASE, "reduces": "not_tested"})).accounts
    assert [line.value for line in account.lines if line.label.startswith("Reduces")] == ["not tested"]
    held = page(scored({name: value for name, value in CASE.items() if name != "age_years"}))
    assert {line.label: line.value for line in held.accounts[0].lines}["Age at the operation"] == "not known"
    assert held.strips[0].missing[0].startswith("Age at the operation: range ")


def test_at_most_three_reasons_each_way_strongest_first() -> None:
    strip = page(scored()).strips[0]
    for lines in (strip.raises, strip.lowers):
        sizes = [abs(line.log_odds) for line in lines]
        assert len(lines) <= 3
        assert sizes == sorted(sizes, reverse=True)
    assert all(line.log_odds > 0 for line in strip.raises)
    assert all(line.log_odds < 0 for line in strip.lowers)


@pytest.mark.parametrize(("reduces", "cells"), [("under_traction", (1.0, 0.0)), ("not_tested", (0.0, 1.0))])
def test_a_state_and_its_variable_are_one_line_that_holds_what_both_add(
    reduces: str, cells: tuple[float, float]
) -> None:
    held = scored({**CASE, "reduces": reduces})
    columns = [3, 4]  # of the bundle's six: the steps, and not tested
    (line,) = [line for line in held.estimate.contributions if line.variables == ("reduces",)]
    shifted = np.array(cells) - held.bundle.column_means[columns]
    assert line.log_odds == pytest.approx(float(shifted @ held.bundle.coefficients[columns]), abs=1e-12)
    # The middle 90% of the draws of the sum, by numpy.
    drawn = shifted @ held.bundle.draws[:, 1:][:, columns].T
    assert (line.low, line.high) == pytest.approx(tuple(np.quantile(drawn, [0.05, 0.95])), abs=0.02)


def test_what_does_not_hold_in_this_child_is_no_reason_and_the_whole_account_adds_up_with_it() -> None:
    for upper, holds in (("C1", True), ("O", False)):
        held = page(scored({**CASE, "upper_level": upper}))
        (strip,), (account,) = held.strips, held.accounts
        shown = [line for line in (*strip.raises, *strip.lowers) if "×" in line.label]
        assert bool(shown) is holds
        (whole,) = [line for line in account.lines if "×" in line.label]
        assert whole.value == ("" if holds else "does not hold here")
        assert account.base + sum(line.log_odds for line in account.lines) == pytest.approx(account.total, abs=1e-9)


def test_replays_are_told_in_percent_and_their_absence_by_a_dash() -> None:
    (account,) = page(scored()).accounts
    held = {line.label: line.held for line in account.lines}
    assert held["Age at the operation"].endswith("%")
    assert held["Reduces"] == "–"  # nobody replayed it


def test_a_number_beside_a_plan_that_contradicts_itself_says_so() -> None:
    (strip,) = page(scored()).strips
    says = "plan A as typed cannot be carried out: a number for such a plan says nothing"
    assert says in strip.cautions
    for render in (surgeon.to_html, surgeon.to_markdown):
        assert says in render(page(scored()))
    holds = replace(CONFERENCE, plans=tuple(replace(plan, contradictions=()) for plan in CONFERENCE.plans))
    assert not any("cannot be carried out" in words for words in page(scored(), conference=holds).strips[0].cautions)
    refused = page(scored({**CASE, "condition": "sedc"})).strips[0]
    assert not any("cannot be carried out" in words for words in refused.cautions)


def test_a_rare_condition_is_said_and_refuses_nothing() -> None:
    says = "fewer than 5 children of the cohort had this condition: it is scored as its group"
    rare, common = page(scored({**CASE, "condition": "marfan"})).strips[0], page(scored()).strips[0]
    assert (says in rare.cautions, says in common.cautions) == (True, False)
    assert rare.likely is not None


def test_what_measuring_would_narrow_by_less_than_1_in_100_is_not_promised() -> None:
    held = scored({name: value for name, value in CASE.items() if name != "age_years"})
    (lacking,) = held.estimate.missing
    for then, promised in ((lacking.interval_width_now - 0.002, False), (lacking.interval_width_now - 0.03, True)):
        told = replace(
            held, estimate=replace(held.estimate, missing=(replace(lacking, interval_width_if_measured=then),))
        )
        (words,) = page(told).strips[0].missing
        assert (words == "Age at the operation") is not promised
        assert ("if known" in words) is promised


@pytest.mark.parametrize("lines", range(40, 76, 5))
def test_the_last_page_holds_more_than_a_few_lines(lines: int) -> None:
    """Whatever the length: if the back takes several pages, the last holds more than a few lines."""
    watch = tuple((f"visit {i}", "film") for i in range(lines))
    held = page(scored(), conference=replace(CONFERENCE, watch=watch))
    document = pypdfium2.PdfDocument(surgeon.to_pdf(held))
    told = document[len(document) - 1].get_textpage().get_text_range().splitlines()
    document.close()
    assert len(told) > 8


def test_refusing_the_number_does_not_refuse_the_page() -> None:
    held = page(scored({**CASE, "condition": "sedc", "age_years": 22.0}))
    (strip,) = held.strips
    assert (strip.low, strip.likely, strip.high) == (None, None, None)
    assert len(strip.refused) == 2
    assert strip.published == "elsewhere: in published series 5 to 30 in 100 did not hold (nobody in particular)"
    assert held.accounts == ()
    for render in (surgeon.to_html, surgeon.to_markdown):
        told = render(held)
        assert "No number is shown" in told
        for title in (*TITLES, "Stop rules", "screws of 2.7 mm"):
            assert title in told


def test_no_signal_shows_the_rate_and_no_reasons() -> None:
    held = page(scored(signal=False))
    assert held.accounts == ()
    assert held.strips[0].likely == "16"
    assert held.strips[0].raises == held.strips[0].lowers == ()
    assert any("no more" in text for text in held.strips[0].cautions)


def test_calibration_is_a_line_that_says_where_it_was_measured() -> None:
    own = "on its own cohort, corrected: slope 0.90 (0.50 to 1.40); c 0.69 (0.60 to 0.80)"
    assert page(scored()).strips[0].calibration == f"{own}; not yet checked on other patients"
    assert (
        page(scored(local_checks=(CHECKED,)))
        .strips[0]
        .calibration.endswith("on other patients, 2027-06-01 (North unit), observed / expected 1.10 (0.7 to 1.6)")
    )
    assert "not measured" in page(scored(performance={})).strips[0].calibration


def test_a_page_says_whether_anybody_read_the_values_back() -> None:
    assert page(scored()).marks == (NOT_READ_BACK,)
    signed = page(scored(), read_back_by="CD")
    assert signed.marks == ()
    assert "read back by CD" in signed.foot
    assert "ask for a new sheet after 2028-11-25" in signed.foot


def test_invented_data_are_marked_on_every_sheet_of_paper() -> None:
    held = page(scored(demonstration=True, cautions=cautions(demonstration=True)))
    assert held.marks[0] == DEMONSTRATION
    document = pypdfium2.PdfDocument(surgeon.to_pdf(held))
    for sheet in document:
        assert DEMONSTRATION in sheet.get_textpage().get_text_range()
    document.close()


def test_every_sheet_of_paper_says_whose_it_is_of_when_and_what_it_is() -> None:
    held = page(scored(), scored())
    document = pypdfium2.PdfDocument(surgeon.to_pdf(held))
    assert len(document) > 1
    for sheet in document:
        told = sheet.get_textpage().get_text_range()
        assert all(said in told for said in (held.case_id, f"made on {held.on}", WHAT_IT_IS))
    document.close()


def test_cautions_of_model_and_planning_are_printed_once() -> None:
    held = page(scored(), scored())
    assert len(set(held.cautions)) == len(held.cautions)
    assert set(PLANNING) <= set(held.cautions)


def test_front_and_back_are_two_pages_with_two_models() -> None:
    held = page(scored(), scored(outcome=OutcomeText("revision", "Unplanned return to theatre", 24.0)))
    document = pypdfium2.PdfDocument(surgeon.to_pdf(held))
    assert len(document) == 2
    front = document[0].get_textpage().get_text_range()
    assert "Stop rules" in front
    assert "Unplanned return to theatre within 24 months" in front
    document.close()


def test_the_page_stands_with_everything_missing() -> None:
    bare = page(conference=Conference("TW-204", ON))
    assert surgeon.to_html(bare).count("none typed") == 3
    assert surgeon.to_pdf(bare).startswith(b"%PDF")
    assert json.loads(surgeon.to_json(bare))["strips"] == []
    assert "TW-204" in surgeon.to_markdown(bare)


def test_markup_prints_as_it_was_typed() -> None:
    hostile = Conference(
        "TW-204",
        ON,
        top=((HOSTILE, HOSTILE),),
        steps=(Step(1, HOSTILE, (HOSTILE,), (HOSTILE,), (HOSTILE,), HOSTILE),),
        plans=(PlanLine(HOSTILE, HOSTILE, HOSTILE, HOSTILE, (HOSTILE,)),),
        kit=(HOSTILE,),
    )
    held = page(scored(title=HOSTILE), conference=hostile)
    assert "<b>x</b>" not in surgeon.to_html(held)
    document = pypdfium2.PdfDocument(surgeon.to_pdf(held))
    assert "<b>x</b> #strong[y] $z$" in document[0].get_textpage().get_text_range()
    document.close()


def test_long_words_and_right_to_left_names_do_not_break_the_page() -> None:
    long = "Spondyloepimetaphyseal" * 12
    held = page(
        scored(),
        conference=Conference(
            "TW-204", ON, top=(("name", "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627"),), kit=(long,)
        ),
    )
    assert "\u05e9\u05dc\u05d5\u05dd" in surgeon.to_html(held)
    assert surgeon.to_pdf(held).startswith(b"%PDF")


@pytest.mark.parametrize("count", [1, 60])
def test_one_predictor_and_sixty(count: int) -> None:
    held = _wide(count)
    made = page(score(Scorer(held), CASE, on=ON))
    assert len(made.accounts[0].lines) == count
    assert len(made.strips[0].raises) <= 3
    document = pypdfium2.PdfDocument(surgeon.to_pdf(made))
    # Reasons beyond the front page go to the back and on, never into a smaller print.
    assert 2 <= len(document) <= 2 + count // 25
    document.close()


def _wide(count: int) -> Bundle:
    """A bundle of so many terms, all of one number."""
    base = bundle()
    terms = tuple(Term(f"t{i}", ("age_years",), Linear(8.0, float(1 + i))) for i in range(count))
    coefficients = np.linspace(-0.1, 0.1, count) if count > 1 else np.array([0.3])
    draws = np.concatenate([[-2.0], coefficients]) + 0.05 * np.random.default_rng(3).standard_normal((120, 1 + count))
    blocks = base.moments.blocks[:1]
    moments = Moments(
        blocks, base.moments.mean[:1], base.moments.covariance[:1, :1], base.moments.normals[:, :1], balanced_normals(1)
    )
    return bundle(
        terms=terms,
        derive=(),
        coefficients=coefficients,
        column_means=np.zeros(count),
        draws=draws,
        moments=moments,
        stability=(),
        ranges=Ranges({"age_years": (1.5, 17.5)}, {}),
    )


def test_the_pdf_is_tagged_and_the_same_bytes_each_time() -> None:
    held = page(scored())
    made = surgeon.to_pdf(held)
    assert made == surgeon.to_pdf(held)
    assert b"pdfuaid:part" in made
    assert b"CreationDate" not in made


def test_words_that_push_are_not_there() -> None:
    told = surgeon.to_markdown(page(scored())).lower()
    for word in ("safe", "danger", "recommend", "best plan", "percentile", "average risk", "score", "winner"):
        assert word not in told


def test_doubts_about_the_values_are_printed_once() -> None:
    doubt = Finding(
        "case", None, "adi_mm", "16", "a number from -3 to 15 mm, else confirm", Severity.WARNING, "soft_range"
    )
    held = replace(scored(), doubts=(doubt,))
    made = page(held, held)
    assert made.doubts == (str(doubt),)
    assert str(doubt) in surgeon.to_html(made)


def test_the_answer_on_the_command_line_has_the_range_of_the_page() -> None:
    held = scored({**CASE, "reduces": "not_tested"})
    (strip,) = page(held).strips
    told = "\n".join(answer_text.lines(held.bundle, [held.estimate]))
    assert f"between {strip.low} and {strip.high} in 100 (90% range), best estimate {strip.likely}" in told
    assert "Reduces: not tested" in told
    assert "not_tested" not in told
