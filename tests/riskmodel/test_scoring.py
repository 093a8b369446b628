"""Scoring: the number, its interval, its account, and the gates."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
import shap

from riskmodel.cases.casefile import read_case_file
from riskmodel.cases.table import CaseTable
from riskmodel.documents import answer
from riskmodel.errors import CasesRefused
from riskmodel.scoring import RiskEstimate, Scorer
from riskmodel.terms import slices
from tests import demonstration

ON = date(2026, 12, 1)


@pytest.fixture(scope="module")
def scorer() -> Scorer:
    return Scorer(demonstration.bundle())


def values(name: str) -> dict[str, object]:
    return dict(read_case_file(demonstration.CASES / f"{name}.toml").values)


def asked(scorer: Scorer, name: str, **changes: object) -> RiskEstimate:
    return scorer.score({**values(name), **changes}, on=ON)


def numbers(estimate: RiskEstimate) -> tuple[float, float, float]:
    """Low, probability and high of an estimate that is shown."""
    assert estimate.low is not None
    assert estimate.probability is not None
    assert estimate.high is not None
    return estimate.low, estimate.probability, estimate.high


def width(estimate: RiskEstimate) -> float:
    low, _, high = numbers(estimate)
    return high - low


def failed(estimate: RiskEstimate) -> set[str]:
    return {gate.name for gate in estimate.gates if gate.blocks and not gate.passed}


def baseline(scorer: Scorer) -> CaseTable:
    """The cohort's cases without what is known later."""
    held = demonstration.cohort().cases
    return replace(held, columns={n: c for n, c in held.columns.items() if n not in scorer.bundle.gates.known_later})


def test_base_and_contributions_add_up_with_and_without_holes(scorer: Scorer) -> None:
    estimates = scorer.score_table(baseline(scorer), on=ON)
    shown = [estimate for estimate in estimates if estimate.shown]
    assert sum(bool(estimate.missing) for estimate in shown) > 20
    for estimate in shown:
        total = estimate.base_log_odds + sum(part.log_odds for part in estimate.contributions)
        assert total == pytest.approx(estimate.log_odds, abs=1e-9)
        low, probability, high = numbers(estimate)
        assert probability == pytest.approx(1 / (1 + np.exp(-total)), abs=1e-12)
        assert low < probability < high


def test_contributions_are_those_of_shap(scorer: Scorer) -> None:
    """Source: shap.LinearExplainer over the full cohort as background, columns summed over each term."""
    columns = scorer.model.recipe.expected(demonstration.cohort().cases)
    # A bundle tells the columns' means rounded; shap is given the children, so the sum is given their exact means.
    model = replace(scorer.model, column_means=columns.mean(axis=0))
    masker = shap.maskers.Independent(columns, max_samples=len(columns))
    explained = shap.LinearExplainer((model.coefficients, model.intercept), masker)(columns)
    by_term = np.column_stack([explained.values[:, span].sum(axis=1) for _, span in slices(model.recipe.terms)])
    assert model.contributions(columns) == pytest.approx(by_term, abs=1e-8)
    assert explained.base_values == pytest.approx(np.full(len(columns), model.base_log_odds), abs=1e-8)


def test_a_child_with_holes_says_so_and_has_a_wider_range(scorer: Scorer) -> None:
    lacking = asked(scorer, "CM-031")
    assert {held.variable for held in lacking.missing} == {"atlas_ring", "weaker_end_anchors"}
    filled = asked(scorer, "CM-031", atlas_ring="intact", weaker_end_anchors=2)
    assert filled.missing == ()
    assert width(lacking) > width(filled)
    assert all(held.interval_width_now == pytest.approx(width(lacking)) for held in lacking.missing)
    if_measured = {held.variable: held.interval_width_if_measured for held in lacking.missing}
    assert if_measured["atlas_ring"] < width(lacking)


def test_measuring_narrows_the_range_on_average(scorer: Scorer) -> None:
    """Of one child the likely value may move the middle of the range more than it narrows it; of many it may not."""
    estimates = scorer.score_table(baseline(scorer), on=ON)
    both = [(held.interval_width_now, held.interval_width_if_measured) for each in estimates for held in each.missing]
    now, then = np.array(both).T
    assert len(now) > 50
    assert then.mean() < now.mean()


def test_the_answer_is_the_same_every_time(scorer: Scorer) -> None:
    assert asked(scorer, "CM-031") == asked(scorer, "CM-031")
    assert asked(scorer, "TW-204") == asked(scorer, "TW-204")


def test_a_table_gives_what_single_cases_give(scorer: Scorer) -> None:
    table = baseline(scorer)
    together = scorer.score_table(table, on=ON)
    arrays = scorer.arrays(table, on=ON)
    for row in range(0, len(table), 37):
        alone = scorer.score_table(table.take(np.array([row])), on=ON)[0]
        assert alone.shown == together[row].shown == arrays.shown[row]
        if alone.shown:
            expected = [arrays.low[row], arrays.probability[row], arrays.high[row]]
            assert numbers(alone) == pytest.approx(numbers(together[row]), abs=1e-12)
            assert numbers(alone) == pytest.approx(expected, abs=1e-12)
        else:
            assert np.isnan([arrays.probability[row], arrays.low[row], arrays.high[row]]).all()


def test_a_refused_number_leaves_everything_else(scorer: Scorer) -> None:
    estimate = asked(scorer, "HS-009")
    assert "eligible" in failed(estimate)
    assert (estimate.probability, estimate.low, estimate.high, estimate.log_odds) == (None, None, None, None)
    assert estimate.contributions == ()
    assert len(estimate.gates) == 9
    assert estimate.like_cases


def test_gates_stand_in_their_order(scorer: Scorer) -> None:
    names = [gate.name for gate in asked(scorer, "TW-204").gates]
    cautions = ["signal", "local_check", "use", "demonstration"]
    assert names == ["eligible", "range", "like_cases", "moment", "expiry", *cautions]
    assert [gate.name for gate in asked(scorer, "TW-204").gates if not gate.blocks] == cautions


@pytest.mark.parametrize(
    ("changes", "gate", "says"),
    [
        ({"age_years": 24.0}, "range", "Age at the operation (the cohort had"),
        ({"condition": None, "biology_group": None}, "like_cases", "like cases cannot be counted"),
        ({"prior_cvj_surgery": None}, "eligible", "it is not known whether"),
        ({"prior_cvj_surgery": 3}, "eligible", "made for other children only"),
        ({"last_scan_months": 12.0}, "moment", "known only later: last_scan_months"),
    ],
)
def test_each_gate_says_what_it_asks(scorer: Scorer, changes: dict[str, object], gate: str, says: str) -> None:
    estimate = asked(scorer, "TW-204", **changes)
    assert gate in failed(estimate)
    assert says in next(held.says for held in estimate.gates if held.name == gate)


def test_a_level_that_too_few_had_and_no_group_lends_to_is_out_of_range(scorer: Scorer) -> None:
    seen = scorer.bundle.ranges.levels["atlas_ring"]
    rare = next(code for code in scorer.bundle.dictionary.variables["atlas_ring"].codes if code not in seen)
    estimate = asked(scorer, "TW-204", atlas_ring=rare)
    assert failed(estimate) == {"range"}
    assert "fewer than 5 children in the cohort had this" in estimate.gates[1].says


@pytest.mark.parametrize(("day", "says"), [(date(2026, 11, 24), "check the clock"), (date(2028, 11, 26), "no number")])
def test_outside_its_time_a_model_gives_no_number(scorer: Scorer, day: date, says: str) -> None:
    estimate = scorer.score(values("TW-204"), on=day)
    assert failed(estimate) == {"expiry"}
    assert says in estimate.gates[4].says


def test_without_a_signal_the_rate_is_shown_and_nothing_is_explained() -> None:
    silent = Scorer(replace(demonstration.bundle(), signal=False))
    estimate = silent.score(values("TW-204"), on=ON)
    assert estimate.shown
    assert estimate.probability == pytest.approx(silent.bundle.cohort_rate)
    assert estimate.log_odds == pytest.approx(estimate.base_log_odds)
    assert estimate.contributions == ()
    low, probability, high = numbers(estimate)
    assert low <= probability <= high
    assert not next(gate for gate in estimate.gates if gate.name == "signal").passed


def test_a_misspelt_name_is_refused_with_the_nearest_known(scorer: Scorer) -> None:
    with pytest.raises(CasesRefused, match="age_years"):
        scorer.score({**values("TW-204"), "age_yeras": 9.0}, on=ON)


def test_a_name_that_only_the_whole_dictionary_knows_is_passed_over(scorer: Scorer) -> None:
    assert "nurick_grade" in scorer.bundle.gates.known_else
    assert asked(scorer, "TW-204", nurick_grade=4) == asked(scorer, "TW-204", nurick_grade=None)


def test_the_answer_as_json_has_the_agreed_keys(scorer: Scorer) -> None:
    document = answer.to_document(scorer.bundle, [asked(scorer, "CM-031"), asked(scorer, "HS-009")], on=ON)
    assert set(document) == {"format", "bundle", "outcome", "on", "cautions", "results"}
    assert document["bundle"]["demonstration"] is True
    assert "invented" in document["cautions"][0]
    shown, refused = document["results"]
    assert set(shown) == set(refused) == {
        "case_id", "shown", "probability", "interval", "cohort_rate", "log_odds", "base_log_odds",
        "base_probability", "contributions", "gates", "missing", "like_cases", "published",
    }  # fmt: skip
    assert set(shown["interval"]) == {"level", "low", "high"}
    assert set(shown["contributions"][0]) == {
        "term", "variables", "label", "value", "unit", "log_odds", "low", "high", "same_sign_share",
    }  # fmt: skip
    assert set(shown["missing"][0]) == {
        "variable", "label", "unit", "interval_width_now", "interval_width_if_measured",
    }  # fmt: skip
    assert (refused["probability"], refused["interval"], refused["contributions"]) == (None, None, [])


def test_a_contradiction_in_what_is_derived_is_refused(scorer: Scorer) -> None:
    with pytest.raises(CasesRefused, match="includes_occiput"):
        asked(scorer, "TW-204", includes_occiput="yes")
    assert asked(scorer, "TW-204", includes_occiput="no") == asked(scorer, "TW-204")


def test_a_refused_child_is_told_what_was_published(scorer: Scorer) -> None:
    told = asked(scorer, "HS-009").published
    assert told is not None
    assert (told.low, told.high) == (0.10, 0.23)
    assert "not known" in told.says
    assert asked(scorer, "TW-204").published is None
