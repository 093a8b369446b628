"""The account on the page adds up, and its curves and rows are those of the model."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from riskmodel.cases import read_case_file
from riskmodel.cases.table import column
from riskmodel.documents.words import MINUS
from riskmodel.drawing import Effect, effect_curve
from riskmodel.scoring import RiskEstimate, Scorer
from riskmodel.terms import Levels, Linear, slices
from riskmodel.web.account import FEW, Line, Ruled, ruled
from tests import demonstration
from tests.riskmodel.web.cases import content
from tests.riskmodel.web.client import ON, client, demonstration_models

SVG = "{http://www.w3.org/2000/svg}"
SCORER = demonstration_models().scorers[0]


def answered(name: str, scorer: Scorer = SCORER) -> RiskEstimate:
    return scorer.score(dict(read_case_file(demonstration.CASES / f"{name}.toml").values), on=ON)


def account(name: str) -> Ruled:
    held = ruled(SCORER.bundle, answered(name))
    assert held is not None
    return held


def line(name: str, label: str) -> Line:
    return next(held for held in account(name).lines if held.label == label)


def figure(text: str) -> float:
    return float(text.replace(MINUS, "-"))


@pytest.mark.parametrize("name", ["TW-204", "CM-031"])
def test_base_and_lines_add_up_to_the_total_as_printed(name: str) -> None:
    held = account(name)
    total = figure(held.base) + sum(figure(part.figure) for part in held.lines)
    assert total == pytest.approx(figure(held.total), abs=0.005 * (len(held.lines) + 2))


def test_an_answer_without_a_number_has_no_account() -> None:
    assert ruled(SCORER.bundle, answered("HS-009")) is None


def test_the_row_of_this_child_holds_the_figure_of_its_line() -> None:
    for part in account("TW-204").lines:
        here = [row for row in part.picture.rows if row.here]
        if part.picture.rows and "hold" not in part.value:
            assert len(here) == 1, part.label
            assert here[0].figure == part.figure
            assert here[0].between == part.between


def test_rows_of_levels_are_the_sum_itself() -> None:
    """The rows computed here from coefficients and means, as the bundle prints them."""
    term, where = next(held for held in slices(SCORER.bundle.terms) if held[0].name == "graft_kind")
    assert isinstance(term.basis, Levels)
    rows = line("TW-204", "Main graft").picture.rows
    for code, row in zip(term.basis.codes, rows, strict=True):
        marks = np.array([code in indicator.members for indicator in term.basis.indicators], dtype=float)
        added = float((marks - SCORER.bundle.column_means[where]) @ SCORER.bundle.coefficients[where])
        assert figure(row.figure) == pytest.approx(added, abs=0.0051)


def test_levels_that_hardly_a_child_had_say_so() -> None:
    rows = {row.label: row.few for row in line("TW-204", "Main condition").picture.rows}
    assert rows["Down syndrome"] == ""
    assert FEW in rows.values()


def test_the_curve_marks_this_child_where_its_line_says() -> None:
    part = line("TW-204", "Age at the operation")
    root = ET.fromstring(part.picture.svg)  # noqa: S314  our own text
    (dot,) = root.findall(f"{SVG}circle")
    (curve,) = root.findall(f"{SVG}polyline")
    xs, ys = np.array([point.split(",") for point in curve.get("points", "").split()], dtype=float).T
    low, high = SCORER.bundle.ranges.numbers["age_years"]
    x = xs[0] + (9.2 - low) / (high - low) * (xs[-1] - xs[0])
    assert float(dot.get("cx", "")) == pytest.approx(x, abs=0.01)
    assert float(dot.get("cy", "")) == pytest.approx(float(np.interp(x, xs, ys)), abs=0.02)
    assert part.picture.words == f"The curve runs where the cohort had children: {low:g} to {high:g} years."


@pytest.mark.parametrize("at", [1.0, 1.5, 3.0])
def test_a_marked_value_lies_on_the_curve_at_both_ends_too(at: float) -> None:
    held = effect_curve(Effect("x", [1.0, 2.0, 3.0], [0.0, 1.0, 0.5], [-1.0] * 3, [2.0] * 3), "w", at=at)
    assert ET.fromstring(held.svg).find(f"{SVG}circle") is not None  # noqa: S314  our own text


def test_a_value_outside_the_curve_is_not_marked() -> None:
    held = effect_curve(Effect("x", [1.0, 2.0], [0.0, 1.0], [-1.0] * 2, [2.0] * 2), "w", at=5.0)
    assert "<circle" not in held.svg


def test_the_middle_of_a_linear_term_is_where_the_cohort_is() -> None:
    """At the mean of its column a linear term adds nothing."""
    term, where = next(held for held in slices(SCORER.bundle.terms) if held[0].name == "weaker_end_anchors")
    assert isinstance(term.basis, Linear)
    mean = float(SCORER.bundle.column_means[where][0])
    at = term.basis.centre + term.basis.scale * mean
    assert (term.basis.columns(column([at]))[0, 0] - mean) == pytest.approx(0, abs=1e-12)


def test_the_page_shows_gates_like_cases_and_the_published_range_without_a_number() -> None:
    inside = client().let_in()
    at = inside.upload("/open", content("HS-009")).header("location").removesuffix("/child")
    page = inside.get(f"{at}/estimate")
    assert page.words.count("No number") == 2
    for gate in answered("HS-009").gates:
        assert gate.says in page.words
    assert "Published" in page.words
    assert re.findall(r"The account", page.text) == []


def test_a_number_stands_after_its_range() -> None:
    inside = client().let_in()
    at = inside.upload("/open", content("TW-204")).header("location").removesuffix("/child")
    words = inside.get(f"{at}/estimate").words
    assert words.index("between") < words.index("Best estimate")
    for absent in ("average", "percentile", "score", "high risk", "low risk"):
        assert absent not in words.lower().replace("risk score", "score"), absent
