"""The card: what its summary says, and that every rendering says the same."""

import json
from collections.abc import Callable
from datetime import date
from math import exp, log2

import pypdfium2
import pytest

from riskmodel.bundle import Moved, Ranges, Support, SupportCell, Update, Use
from riskmodel.documents import card
from riskmodel.documents.cautions import DEMONSTRATION, cautions
from riskmodel.scoring import Scorer
from tests.riskmodel.documents.builders import CHECKED, ON, PERFORMANCE, bundle

HOSTILE = "<script>alert(1)</script> #strong[x] $y$ | `z` **w** \\ @ref <label>"


def test_the_limits_say_gravest_first_what_must_be_known() -> None:
    changed = bundle(
        demonstration=True,
        signal=False,
        protocol={"planned_from_operation_note": True},
        cautions=cautions(demonstration=True),
    )
    limits = card.summarise(changed).limits
    assert limits[0] == DEMONSTRATION
    assert limits[1].startswith("What was planned was read from the operation note")
    assert limits[2].startswith("The predictors told no more about left-out children than the rate did")
    assert limits[3] == "For study, not for use: nobody may be advised by it."
    assert "It has not been checked on any patients but those that it was made from." in limits
    assert "These were missing in many children of the cohort: Reduces, 25%." in limits


def test_a_check_on_other_patients_takes_the_place_of_the_warning_that_there_was_none() -> None:
    held = card.summarise(bundle(local_checks=(CHECKED,), use=Use.LOCAL))
    assert "It was last checked on other patients on 2027-06-01 (North unit); elsewhere it may be wrong." in held.limits
    assert not any(limit.startswith("For study") for limit in held.limits)
    # 43 children and 4 events are said as coarsely as every count of a bundle.
    assert (held.checks[0].children, held.checks[0].events) == ("at least 40", "fewer than 5")


def test_the_outcome_is_defined_by_its_events_in_words() -> None:
    held = card.summarise(bundle()).predicted
    assert held.first_of[0] == "Screw pulled out or backed out"
    assert held.competes == ("Death", "Planned removal of the implants")
    assert held.made_of == (("Not united", "at least 10"), ("Screw pulled out or backed out", "fewer than 5"))
    assert held.seen_until == "last scan"


def test_columns_are_said_so_that_they_can_be_computed() -> None:
    words = {(line.term, line.column) for line in card.summarise(bundle()).coefficients}
    assert ("age_years", "log2(x / 8), x kept within 1.5 to 18") in words
    assert ("condition", "Loose ligaments (any of 6)") in words
    assert ("condition", "Down syndrome") in words
    assert ("reduces:states", "not tested") in words
    assert any("Main condition: Down syndrome × not (" in column for _, column in words)


def test_a_child_can_be_scored_by_hand_from_the_machine_readable_card() -> None:
    """The sum, as the card prints it, is the whole model: reporting standards ask for all coefficients and the base."""
    held = json.loads(card.to_json(card.summarise(bundle())))
    coefficient = {(line["term"], line["column"]): line["coefficient"] for line in held["coefficients"]}
    age, down = (
        coefficient["age_years", "log2(x / 8), x kept within 1.5 to 18"],
        coefficient["condition", "Down syndrome"],
    )
    loose, steps = coefficient["condition", "Loose ligaments (any of 6)"], coefficient["reduces", "x"]
    (product,) = (line["coefficient"] for line in held["coefficients"] if " x not " in line["term"])
    by_hand = held["intercept"] + age * log2(4.0 / 8.0) + loose + down + steps * 1 + product
    case = {
        "age_years": 4.0,
        "condition": "down",
        "reduces": "under_traction",
        "upper_level": "C1",
        "prior_cvj_surgery": 0,
    }
    scored = Scorer(bundle()).score(case, on=ON)
    assert scored.probability == pytest.approx(1.0 / (1.0 + exp(-by_hand)), abs=1e-12)


def test_what_was_believed_before_stands_beside_what_came_out() -> None:
    lines = {line.term: line for line in card.summarise(bundle()).coefficients}
    assert (lines["age_years"].prior_mean, lines["age_years"].prior_sd) == (-0.15, 0.15)
    assert lines["reduces"].prior_mean is None
    assert "−0.15 (0.15)" in card.to_markdown(card.summarise(bundle()))


def test_intervals_of_coefficients_hold_nine_draws_in_ten() -> None:
    held = bundle()
    for at, line in enumerate(card.summarise(held).coefficients):
        draws = held.draws[:, 1 + at]
        assert ((draws >= line.low) & (draws <= line.high)).mean() == pytest.approx(0.9, abs=1.01 / len(draws))


def test_measures_stand_in_reading_order_and_a_missing_number_has_its_reason() -> None:
    held = card.summarise(bundle())
    assert [line.name for line in held.performance.measures] == ["c", "slope"]
    assert held.performance.measures[1].point632plus is None
    assert "Where a dash stands (calibration slope): not defined for this measure." in card.to_markdown(held)


def test_an_unknown_measure_or_fact_is_shown_all_the_same() -> None:
    more = {**PERFORMANCE, "measures": {"new_one": {"apparent": 0.5, "reason": None}}, "extra": {"deep": [1, 2]}}
    held = card.summarise(bundle(performance=more))
    assert held.performance.measures[0].label == "new one"
    assert ("extra: deep", "1; 2") in held.performance.facts


def test_the_chain_of_parents_expiry_and_digest_are_printed() -> None:
    text = card.to_markdown(card.summarise(bundle(parents=("a" * 64, "b" * 64))))
    for asked in ("a" * 64, "b" * 64, "0123456789abcdef" * 4, "2028-11-25"):
        assert asked in text


@pytest.mark.parametrize("render", [card.to_html, card.to_markdown, card.to_json])
def test_a_demonstration_says_so_in_every_rendering(render: Callable[[card.CardSummary], str]) -> None:
    changed = bundle(demonstration=True, cautions=cautions(demonstration=True))
    assert "invented data" in render(card.summarise(changed))


def test_markup_in_a_title_prints_as_it_was_typed() -> None:
    held = card.summarise(bundle(title=HOSTILE))
    html = card.to_html(held)
    assert "<script" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt; #strong[x]" in html
    assert "\\<script\\>" in card.to_markdown(held)
    assert HOSTILE.split(" | ")[0] in _text(card.to_pdf(held)).replace("\r\n", " ")


def test_the_page_is_self_contained() -> None:
    # The name of SVG's namespace looks like an address, and is never fetched.
    html = card.to_html(card.summarise(bundle())).replace('xmlns="http://www.w3.org/2000/svg"', "")
    for banned in ("<script", "<link", "http:", "https:", "url(", "@import", "style="):
        assert banned not in html


def test_the_pdf_is_the_same_bytes_each_time_tagged_and_titled() -> None:
    held = card.summarise(bundle())
    made = card.to_pdf(held)
    assert made == card.to_pdf(held)
    for asked in (b"/StructTreeRoot", b"pdfuaid:part", b"/Lang"):
        assert asked in made
    assert b"CreationDate" not in made
    assert "A small model" in _text(made)


def test_every_section_of_the_page_stands_in_every_rendering() -> None:
    held = card.summarise(bundle(local_checks=(CHECKED,)))
    html, markdown, pdf = card.to_html(held), card.to_markdown(held), _text(card.to_pdf(held))
    for section in card.page(held).sections:
        assert f"<h2>{section.title}</h2>" in html
        assert f"## {section.title}" in markdown
        assert section.title in pdf


def test_a_plain_outcome_without_horizon_or_definition_has_a_card() -> None:
    plain = bundle().outcome.__class__("Kyphosis", "Kyphosis: present", None)
    held = card.summarise(bundle(outcome=plain, cohort={}, performance={}, advice={}, support=(), protocol={}))
    assert held.predicted.first_of == ()
    text = card.to_markdown(held)
    assert "**Kyphosis: present. It happened to 16 in 100 children of the cohort.**" in text
    assert "months" not in text.split("## For whom")[0].split("## What it predicts")[1]


def test_steps_of_an_ordinal_are_told_by_their_labels() -> None:
    reach = Ranges({"age_years": (1.5, 17.5), "reduces": (0.0, 1.0)}, {"upper_level": ("O", "C1")})
    held = card.summarise(bundle(ranges=reach)).population
    assert [line.variable for line in held.numbers] == ["age_years"]
    levels = {line.variable: line.levels for line in held.levels}
    assert levels["reduces"] == ("Awake, by position", "Under traction")


def test_an_effect_is_the_contribution_that_scoring_gives() -> None:
    held = bundle()
    (effect,) = card.summarise(held).effects
    assert (effect.values[0], effect.values[-1]) == (1.5, 17.5)
    case = {"condition": "down", "reduces": "awake", "upper_level": "C1", "prior_cvj_surgery": 0}
    for at in (0, 20, 40):
        scored = Scorer(held).score({**case, "age_years": effect.values[at]}, on=ON).contributions[0]
        assert (scored.log_odds, scored.low, scored.high) == pytest.approx(
            (effect.log_odds[at], effect.low[at], effect.high[at]), abs=1e-12
        )


def test_a_calibration_curve_is_drawn_with_its_words_when_the_bundle_holds_one() -> None:
    curve = {"predicted": [0.05, 0.1, 0.4], "observed": [0.04, 0.12, 0.5], "low": [0.0] * 3, "high": [0.2, 0.3, 0.8]}
    held = card.summarise(bundle(performance={**PERFORMANCE, "curves": {"calibration": curve}}))
    assert "given 40, happened 50" in card.to_markdown(held)
    assert "<svg" in card.to_html(held)
    assert card.to_pdf(held).startswith(b"%PDF")


def test_records_of_the_bundle_become_a_table() -> None:
    records = [{"group": "girls", "c": 0.7}, {"group": "boys", "c": None, "why": "too few to say"}]
    text = card.to_markdown(card.summarise(bundle(performance={**PERFORMANCE, "subgroups": records})))
    assert "| group | c-statistic | why |" in text
    assert "| boys | not known | too few to say |" in text


def test_a_listing_says_what_a_row_is_about_before_its_figures() -> None:
    """A bundle on disk has its names in the order of the alphabet."""
    records = [{"c": 0.7, "children": "at least 40", "kind": "girls", "of": "Sex", "observed_expected": 1.1}]
    text = card.to_markdown(card.summarise(bundle(performance={**PERFORMANCE, "subgroups": records})))
    assert "| of | kind | children | c-statistic | observed / expected |" in text


def test_the_reporting_draft_has_every_item_and_leaves_to_people_what_only_they_can_say() -> None:
    items = {item.number: item for item in card.summarise(bundle()).reporting}
    # TRIPOD+AI has 27 items, 52 with their parts (Collins et al., BMJ 2024;385:e078378, from memory).
    assert {number.rstrip("abcdefg") for number in items} == {str(i) for i in range(1, 28)}
    assert len(items) == 52
    for number in ("4", "14", "17", "18a", "18b", "19", "25"):
        assert items[number].text == ""
    assert items["10"].text == "check only"
    assert items["22"].text.startswith("intercept −2.0000 and 6 coefficients")
    text = card.to_markdown(card.summarise(bundle()))
    assert "| 19 | involvement of patients and public | to be written |" in text


def test_the_verdict_on_the_cohort_stands_among_the_limits() -> None:
    held = bundle(advice={"path": "update with priors", "reason": "Too few events.", "verdict": "do not refit"})
    made = card.summarise(held)
    assert "What its cohort can carry: do not refit. Too few events." in made.limits
    assert made.advice.facts[0] == ("verdict", "do not refit")


def test_a_release_against_the_advice_is_said() -> None:
    advice = {"verdict": "do not refit", "reason": "Too few events.", "stamp": "for study, not for use"}
    said = 'It was released for local use after a check on local patients, although its cohort earned it the stamp "for'
    released = card.summarise(bundle(advice=advice, use=Use.LOCAL, local_checks=(CHECKED,))).limits
    assert any(limit.startswith(said) for limit in released)
    assert not any(limit.startswith(said) for limit in card.summarise(bundle(advice=advice)).limits)
    sound = {**advice, "verdict": "refit", "stamp": None}
    assert not any(limit.startswith(said) for limit in card.summarise(bundle(advice=sound, use=Use.LOCAL)).limits)


def test_coverage_is_quoted_from_simulated_cohorts_and_only_where_it_was_measured() -> None:
    told = {"simulated": {"children": 300, "rate": 0.16, "coverage": 0.89}}
    limits = card.summarise(bundle(performance={**bundle().performance, **told})).limits
    assert (
        "The nearest simulated setting: 300 children, 16 in 100 with the event. There the 90% interval held the true "
        "risk of 89% of children; it was not measured on your patients."
    ) in limits
    assert any("it was not measured for a cohort like this one" in limit for limit in card.summarise(bundle()).limits)


def test_updates_are_told_with_what_they_moved() -> None:
    step = Update(
        parent="a" * 64,
        on=date(2027, 1, 1),
        method="closed_test",
        chosen="intercept",
        children=43,
        events=7,
        interval="parent's draws, moved",
        tests=("all against intercept: p 0.4",),
        moved=(Moved("intercept", -2.0, -1.5),),
    )
    text = card.to_markdown(card.summarise(bundle(updates=(step,), parents=("a" * 64,))))
    for words in ("closed test, intercept", "at least 40", "intercept: −2.000 to −1.500", "all against intercept"):
        assert words in text


def test_an_expired_model_says_when() -> None:
    held = card.summarise(bundle(review_by=date(2026, 11, 26)))
    assert "It gives no number after 2026-11-26, when it has to be reviewed." in held.limits


def _text(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return "\n".join(page.get_textpage().get_text_range() for page in document)
    finally:
        document.close()


def test_every_table_of_like_cases_says_by_what_it_counts() -> None:
    finer = Support(("biology_group", "includes_occiput"), (SupportCell(("laxity", "yes"), 15),))
    held = card.summarise(bundle(support=(finer, *bundle().support)))
    first, second = held.population.like_cases
    assert second.of == first.of[:1] == ("Mechanism",)
    assert (first.cells[0].levels, first.cells[0].count) == (("Loose ligaments", "yes"), "at least 15")
    captions = [line for line in card.to_markdown(held).splitlines() if "Like cases known at the horizon" in line]
    assert len(captions) == len(set(captions)) == 2


def test_a_source_stands_once_with_everything_that_rests_on_it() -> None:
    priors = [
        {"term": "age_years", "column": "", "mean": -0.15, "sd": None, "source": "own reading"},
        {"term": "condition", "column": "down", "mean": 0.3, "sd": 0.4, "source": "own reading"},
    ]
    text = card.to_markdown(card.summarise(bundle(performance={**PERFORMANCE, "priors": priors})))
    (row,) = [line for line in text.splitlines() if "own reading" in line]
    assert "Age at the operation: log2(x / 8), x kept within 1.5 to 18 · Main condition: Down syndrome" in row
    assert "\N{MINUS SIGN}0.15 (learned)" in text


def test_a_model_that_nothing_corrected_is_told_by_one_value() -> None:
    entry = {"apparent": 0.7, "harrell": None, "point632plus": None, "low": None, "high": None, "reason": "left out"}
    told = {"measures": {"c": entry}, "definitions": {"apparent": "each child left out"}}
    text = card.to_markdown(card.summarise(bundle(performance=told)))
    assert "| measure | value |" in text
    assert "| value | each child left out |" in text
    assert "corrected" not in text.split("How well it did")[1].split("##")[0]
    assert "Where a dash stands" not in text


def test_a_new_centre_is_told_measure_by_measure() -> None:
    more = {**PERFORMANCE, "new_centre": {"slope": [0.2, 1.9], "c": [0.55, 0.8], "citl": None}}
    rows = card.summarise(bundle(performance=more)).performance.listings[0].rows
    assert rows == (("c-statistic", "0.550", "0.800"), ("calibration slope", "0.200", "1.900"))


def test_the_advice_is_told_in_sentences_and_tables() -> None:
    spread = {
        "c": 0.7,
        "c_low": 0.6,
        "c_high": 0.8,
        "risk_low": 0.02,
        "risk_high": 0.5,
        "risk_mean": 0.2,
        "too_sure": False,
    }
    advice = {
        "verdict": "do not refit",
        "expected_slope": {"fitted_freely": 0.44, "with_priors": None},
        "degrees_of_freedom_carried": {"shrinkage": 2.9, "absolute_error": 8.2},
        "children_needed": {"shrinkage": 3410, "absolute_error": "not studied for more than 30 effects"},
        "beforehand": {"prior_means_alone": spread, "base": "the priors'"},
        "something_new": 3,
    }
    held = card.summarise(bundle(advice=advice)).advice
    assert held.facts[1] == ("slope to expect on new children", "0.44 if fitted freely, \N{EN DASH} with the priors")
    assert held.facts[-1] == ("something new", "3")
    size, implied = held.listings
    assert size.rows[0] == ("shrinkage of no more than a tenth", "2.9", "3,410")
    assert implied.rows == (("prior means alone", "0.70", "0.60 to 0.80", "2 in 100 to 50 in 100", "20 in 100", "no"),)
    assert card.summarise(bundle(advice={})).advice.listings == ()
