"""The planning conference in words: what a line says of an anchor, a norm, a difference."""

import json
from dataclasses import replace
from datetime import date

import pytest

from riskmodel.anatomy.craniometry import Image, compared
from riskmodel.cli.plans import conference
from riskmodel.documents import planning
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL, PLANNING
from riskmodel.documents.planning import words
from riskmodel.plans import Asking, Difference, Summary, summarise
from riskmodel.plans.limits import Limit
from riskmodel.plans.watch import WatchItem
from riskmodel.plans.words import Kind, Level
from tests import demonstration
from tests.riskmodel.plans.builders import RIGHT, case, fit

PEDICLE = (Level.C2, RIGHT, Kind.PEDICLE_SCREW)


@pytest.fixture(scope="module")
def summary() -> Summary:
    files = (demonstration.CASES / "EH-112.toml", demonstration.FOLDER / "plans" / "EH-112.toml")
    return summarise(conference(*files), Asking(date(2026, 12, 1)))


def pedicle(width: float, height: float | None = 6.0) -> dict[str, object]:
    return case(c2_pedicle_width_right_mm=width, c2_pedicle_height_right_mm=height, artery_right="usual")


def test_a_screw_that_does_not_fit_is_wider_than_its_path_and_has_no_grade() -> None:
    held = fit(PEDICLE, pedicle(3.0))
    assert words.anchor_measures(held).startswith("at 3.5 mm: wider than the path by 0.5 mm; ")
    assert "grade" not in words.anchor_measures(held)
    assert "barely 3 mm, margin 0 mm, length of the path not measured" in words.anchor_measures(held)


def test_an_anchor_says_its_class_why_and_what_it_could_be() -> None:
    assert words.anchor_class(fit(PEDICLE, pedicle(3.9))) == "fits barely (narrow), could be: fits"
    assert words.anchor_class(fit(PEDICLE, pedicle(5.0, None))) == "fits with room at best"
    assert words.anchor_class(fit(PEDICLE, {})) == "not measured"
    assert words.anchor_measures(fit(PEDICLE, {})) == "not known: C2 pedicle: width, right | C2 pedicle: height, right"


def test_the_occiput_is_held_against_the_least() -> None:
    place = (Level.O, RIGHT, Kind.CONDYLE_SCREW)
    held = fit(place, case(condyle_width_right_mm=7.5, condyle_height_right_mm=8))
    assert words.anchor_measures(held).startswith("0.5 mm short of the least; ")


def test_a_limit_has_its_source_and_says_how_sure_it_is() -> None:
    held = fit(PEDICLE, pedicle(4.0))
    assert words.anchor_limit(held).endswith("from 4.0 feasible; moderately supported]")
    local = replace(held, limit=Limit("margin_fits_mm", 0.4, "mm", "fits from", "ours", "L", local=True))
    assert words.anchor_limit(local) == "fits from: 0.4 mm [local limit, ours; weakly supported]"


@pytest.mark.parametrize(
    ("name", "value", "image", "says"),
    [
        ("adi_mm", 9.5, Image("ct", "neutral"), "above 2.6: children, 97.5th centile, Bertozzi"),
        ("adi_mm", 2.0, Image("ct", "neutral"), "not above 2.6: children, 97.5th centile"),
        ("adi_mm", 2.0, Image(None, None), "limit not above 2.6, not compared: children, 97.5th centile; holds for"),
        ("clivo_axial_angle_deg", 120.0, Image("mri", "neutral"), "below 125: children with Chiari"),
        ("o_c2_angle_deg", 15.0, Image("film", None), "within 7.2 to 21.8: healthy adults"),
        ("sac_c1_c4_ratio", 1.0, Image("film", None), "beside it: children without Down syndrome, mean"),
        ("cci_right_mm", 4.0, Image("ct", None), "above 2.5: children, joint space"),
    ],
)
def test_a_value_beside_what_is_published(name: str, value: float, image: Image, says: str) -> None:
    held = compared(name, value, age_years=8.0, image=image, given={})
    assert words.comparison(held[0]).startswith(says)


def test_a_difference_comes_range_first_and_says_what_was_held() -> None:
    held = Difference("A", "B", -0.053, -0.21, 0.012, 0.9, "these records cannot tell", ("graft_kind",))
    assert words.difference(held) == (
        "A less B: these records cannot tell; between −21 and +1 in 100 (90% range), best estimate −5; "
        "held the same: graft kind"
    )
    refused = Difference("A", "B", None, None, None, 0.9, "no number is shown: too old", ())
    assert words.difference(refused) == "A less B: no number is shown: too old"


@pytest.mark.parametrize(
    ("first", "last", "age"),
    [(9.325, 9.325, "x, at 9.3 years: "), (12.2, 18.0, "x, at 12.2 to 18 years: "), (8.0, None, "x, from 8 years: ")],
)
def test_what_to_watch_is_dated_by_age(first: float, last: float | None, age: str) -> None:
    assert words.watch_item(WatchItem("x", first, last, "what", "why", "source")) == f"{age}what; why [source]"
    assert (
        words.watch_item(WatchItem("x", None, None, "what", "why", "s", ("A", "C")))
        == "x (plan A and C): what; why [s]"
    )


def test_every_caution_is_on_the_page(summary: Summary) -> None:
    told = "\n".join(planning.lines(summary))
    assert all(caution in told for caution in (*GENERAL, *PLANNING))
    assert DEMONSTRATION not in told
    marked = list(planning.lines(replace(summary, demonstration=True)))
    assert marked[0] == DEMONSTRATION
    assert f"  - {DEMONSTRATION}" in marked


def test_no_word_ranks_plans(summary: Summary) -> None:
    told = "\n".join(planning.lines(summary)).lower()
    for word in ("winner", "recommended", "best plan", "preferred", "ranked", "safest", "green", "red light"):
        assert word not in told


def test_the_document_is_plain_json_with_every_part(summary: Summary) -> None:
    held = planning.to_document(summary)
    text = json.dumps(held, allow_nan=False)
    assert json.loads(text) == held
    assert set(Summary.__dataclass_fields__) | {"cautions"} == set(held)
    assert held["plans"][0]["plan"]["spacers"] == {"right_mm": 4.0, "left_mm": 7.0}
    assert held["sites"][0]["limit"]["source"]
