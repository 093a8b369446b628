"""FHIR and CDS Hooks: valid to an independent library, and to rules of ours that it does not know."""

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest
from fhir.resources.R4B.riskassessment import RiskAssessment as RiskAssessmentR4B
from fhir.resources.riskassessment import RiskAssessment as RiskAssessmentR5
from pydantic import ValidationError

from riskmodel.bundle import OutcomeText
from riskmodel.documents.exchange import Release, fhir_problems, hook_problems, hook_response, risk_assessment
from riskmodel.documents.scored import Scored, score
from riskmodel.scoring import Scorer
from tests.riskmodel.documents.builders import ON, bundle

CASE = {"age_years": 4.0, "condition": "down", "reduces": "under_traction", "upper_level": "C1", "prior_cvj_surgery": 0}
# The library has R5 and R4B but no R4; between R4 and R4B RiskAssessment and Device did not change (from memory).
LIBRARY: dict[Release, Any] = {Release.R4: RiskAssessmentR4B, Release.R5: RiskAssessmentR5}
Plant = Callable[[dict[str, Any]], object]


def scored(condition: str = "down", **changes: Any) -> Scored:
    return score(Scorer(bundle(**changes)), {**CASE, "condition": condition}, on=ON)


@pytest.mark.parametrize("release", Release)
@pytest.mark.parametrize("condition", ["down", "sedc"])
@pytest.mark.parametrize("demonstration", [True, False])
def test_an_independent_library_takes_it_and_gives_it_back(
    release: Release, condition: str, *, demonstration: bool
) -> None:
    made = risk_assessment(scored(condition, demonstration=demonstration), release, on=ON)
    read = LIBRARY[release].model_validate(made)
    assert json.loads(read.model_dump_json()) == made


def test_point_and_interval_are_two_predictions_in_percent() -> None:
    held = scored()
    interval, point = risk_assessment(held, Release.R5, on=ON)["prediction"]
    assert held.estimate.probability is not None
    assert point["probabilityDecimal"] == pytest.approx(100 * held.estimate.probability, abs=0.05)
    bounds = interval["probabilityRange"]
    assert bounds["low"]["value"] < point["probabilityDecimal"] < bounds["high"]["value"]
    assert interval["whenRange"]["high"] == {
        "value": 24.0,
        "unit": "months",
        "system": "http://unitsofmeasure.org",
        "code": "mo",
    }


def test_without_a_number_there_is_no_prediction_and_the_notes_say_why() -> None:
    made = risk_assessment(scored("sedc"), Release.R4, on=ON)
    assert "prediction" not in made
    assert any(note["text"].startswith("No number: ") for note in made["note"])


def test_the_same_answer_has_the_same_identity_and_another_day_another() -> None:
    first, again = (risk_assessment(scored(), Release.R4, on=ON)["identifier"] for _ in range(2))
    assert first == again
    other = risk_assessment(scored(), Release.R4, on=ON.replace(day=2))["identifier"]
    assert other != first


def test_invented_data_are_marked_as_test_data() -> None:
    made = risk_assessment(scored(demonstration=True), Release.R5, on=ON)
    assert made["meta"]["security"][0]["code"] == "HTEST"
    assert "meta" not in risk_assessment(scored(), Release.R5, on=ON)


def _fraction(made: dict[str, Any]) -> None:
    made["prediction"][1]["probabilityDecimal"] /= 100


def _swapped(made: dict[str, Any]) -> None:
    bounds = made["prediction"][0]["probabilityRange"]
    bounds["low"], bounds["high"] = bounds["high"], bounds["low"]


PLANTED: dict[str, tuple[Plant, str]] = {
    "a fraction for a percent": (_fraction, "the point must lie in the interval"),
    "over 100": (lambda m: m["prediction"][1].update(probabilityDecimal=140.0), "percent, 0 to 100"),
    "bounds swapped": (_swapped, "the lower bound must not lie above the upper"),
    "no percent code": (
        lambda m: m["prediction"][0]["probabilityRange"]["low"].pop("code"),
        "percent by its UCUM code",
    ),
    "relative risk": (lambda m: m["prediction"][1].update(relativeRisk=2.0), "relativeRisk must stay empty"),
    "a word for the risk": (
        lambda m: m["prediction"][1].update(qualitativeRisk={"text": "high"}),
        "qualitativeRisk must stay empty",
    ),
    "signed already": (lambda m: m.update(status="final"), "preliminary until a clinician signs"),
    "time runs back": (
        lambda m: m["prediction"][1]["whenRange"]["high"].update(value=-1),
        "the time must run forward",
    ),
    "two outcomes": (
        lambda m: m["prediction"][1].update(outcome={"text": "another"}),
        "of one outcome and time",
    ),
    "nobody": (lambda m: m["subject"].pop("identifier"), "named by its local key"),
    "no cautions": (lambda m: m.update(note=[]), "cautions must travel"),
    "advice": (lambda m: m.update(mitigation="operate"), "mitigation is not ours to fill"),
    "another performer": (lambda m: m["performer"].update(reference="#someone"), "the contained software"),
    "only the point": (lambda m: m["prediction"].pop(0), "one interval and one point"),
}


@pytest.mark.parametrize("release", Release)
@pytest.mark.parametrize("name", PLANTED)
def test_errors_that_the_library_lets_through_are_found(name: str, release: Release) -> None:
    plant, words = PLANTED[name]
    made = copy.deepcopy(risk_assessment(scored(), release, on=ON))
    plant(made)
    LIBRARY[release].model_validate(made)  # the independent library sees nothing wrong
    assert any(words in problem for problem in fhir_problems(made, release))


def test_a_device_of_the_other_release_is_found_by_both() -> None:
    made = risk_assessment(scored(), Release.R4, on=ON)
    assert fhir_problems(made, Release.R5) == ("the software must have a name as R5 writes it",)
    with pytest.raises(ValidationError):
        RiskAssessmentR5.model_validate(made)


def test_the_card_informs_in_under_140_characters_range_first() -> None:
    held = scored()
    (card,) = hook_response(held, on=ON)["cards"]
    low, point, high = held.estimate.low, held.estimate.probability, held.estimate.high
    assert low is not None
    assert point is not None
    assert high is not None
    numbers = f"{100 * low:.0f} to {100 * high:.0f} in 100, best guess {100 * point:.0f}"
    assert card["summary"] == f"{numbers}: The fixation or the bone did not hold"
    assert card["indicator"] == "info"
    assert not {"suggestions", "links"} & card.keys()


@pytest.mark.parametrize("demonstration", [True, False])
@pytest.mark.parametrize("condition", ["down", "sedc"])
@pytest.mark.parametrize("length", [1, 60, 139, 400])
def test_a_long_outcome_is_cut_not_the_number(condition: str, length: int, *, demonstration: bool) -> None:
    held = scored(condition, outcome=OutcomeText("x", "y" * length, None), demonstration=demonstration)
    (card,) = hook_response(held, on=ON)["cards"]
    assert len(card["summary"]) < 140
    assert ("in 100" in card["summary"]) == (condition == "down")
    assert card["summary"].startswith("INVENTED DATA. ") == demonstration


def test_markup_in_the_detail_is_escaped() -> None:
    held = scored(outcome=OutcomeText("x", "<img src=x> *bold* | cell", 12.0))
    (card,) = hook_response(held, on=ON)["cards"]
    assert "<img" not in card["detail"].replace("\\<img", "")
    assert "\\| cell" in card["detail"]


@pytest.mark.parametrize(
    ("plant", "words"),
    [
        (lambda c: c["cards"][0].update(summary="x" * 140), "fewer than 140"),
        (lambda c: c["cards"][0].update(suggestions=[{"label": "operate"}]), "suggestions must stay empty"),
        (lambda c: c["cards"][0].update(indicator="critical"), "must be info"),
        (lambda c: c["cards"][0].update(source={}), "name its source"),
        (lambda c: c.update(systemActions=[]), "no system actions"),
        (lambda c: c["cards"][0]["overrideReasons"][0].pop("display"), "a code and words"),
    ],
)
def test_planted_errors_of_a_card_are_found(plant: Plant, words: str) -> None:
    made = hook_response(scored(), on=ON)
    assert hook_problems(made) == ()
    plant(made)
    assert any(words in problem for problem in hook_problems(made))


def test_no_card_is_a_response_too() -> None:
    assert hook_problems({"cards": []}) == ()
