"""Drawings: well-formed, attributes only, and true to their numbers."""

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from itertools import pairwise
from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.drawing import (
    Calibration,
    Drawing,
    Effect,
    Ladder,
    Mark,
    Midline,
    Rung,
    Shares,
    Site,
    calibration_curve,
    effect_curve,
    ladder_drawing,
    squares,
)
from riskmodel.drawing.curves import ticks
from riskmodel.drawing.svg import INK, number

SVG = "{http://www.w3.org/2000/svg}"
LADDER = Ladder(
    (
        Rung("O", midline=Midline(Mark.WITH_ROOM, "10.9 mm")),
        Rung("C1", Site(Mark.FITS, ("3.5 mm +0.6",), planned=True), Site(Mark.NO_BONE)),
        Rung("C2", Site(Mark.BARELY, ("3.0 mm +0.1", "artery <over> entry")), Site(Mark.NOT), fused_below=True),
        Rung("C3", Site(Mark.UNKNOWN)),
    )
)
AGES = [1.5 + i for i in range(17)]


def _drawings() -> Iterator[Drawing]:
    yield squares(Shares(8, 19), "eight & nineteen")
    yield squares(Shares(3, 5, 1000), "three")
    yield ladder_drawing(LADDER)
    yield calibration_curve(Calibration([0.1, 0.2, 0.4], [0.1, 0.15, 0.5], [0.0, 0.1, 0.3], [0.2, 0.2, 0.7]), "c")
    added = [-0.3 * log2(age / 8) for age in AGES]
    yield effect_curve(Effect("age <y>", AGES, added, [x - 0.2 for x in added], [x + 0.2 for x in added]), "e")


@pytest.mark.parametrize("held", list(_drawings()))
def test_a_drawing_is_well_formed_and_uses_attributes_only(held: Drawing) -> None:
    root = ET.fromstring(held.svg)  # noqa: S314  our own text
    assert root.tag == f"{SVG}svg"
    assert root.find(f"{SVG}title") is not None
    for part in root.iter():
        assert not {"style", "class", "id", "href", "onload"} & set(part.keys())
        assert part.tag.removeprefix(SVG) not in {"style", "script", "image", "foreignObject", "use"}
    assert "nan" not in held.svg


@pytest.mark.parametrize("held", list(_drawings()))
def test_only_greys_are_used(held: Drawing) -> None:
    for part in ET.fromstring(held.svg).iter():  # noqa: S314  our own text
        for paint in ("fill", "stroke"):
            colour = part.get(paint, "none")
            assert colour == "none" or len({colour[1:3], colour[3:5], colour[5:7]}) == 1


@given(st.integers(0, 100), st.integers(0, 100))
def test_a_hundred_squares_hold_exactly_the_numbers(sure: int, perhaps: int) -> None:
    if sure + perhaps > 100:
        with pytest.raises(ValueError, match="100 together at most"):
            Shares(sure, perhaps)
        return
    held = Shares(sure, perhaps)
    rects = ET.fromstring(squares(held, "w").svg).findall(f"{SVG}rect")  # noqa: S314  our own text
    assert len(rects) == 100
    assert [rect.get("fill") == INK for rect in rects] == [i < sure for i in range(100)]
    assert held.sure + held.perhaps + held.others == 100


def test_squares_are_filled_row_by_row_from_the_upper_left() -> None:
    root = ET.fromstring(squares(Shares(13, 0), "w").svg)  # noqa: S314  our own text
    dark = [(float(r.get("y", "")), float(r.get("x", ""))) for r in root.findall(f"{SVG}rect") if r.get("fill") == INK]
    assert dark == sorted(dark)
    assert [len([1 for y, _ in dark if y == row]) for row in sorted({y for y, _ in dark})] == [10, 3]


def test_hatching_marks_the_uncertain_squares_and_stays_inside_them() -> None:
    root = ET.fromstring(squares(Shares(2, 1), "w").svg)  # noqa: S314  our own text
    (third,) = root.findall(f"{SVG}rect")[2:3]
    x, y, side = (float(third.get(key, "")) for key in ("x", "y", "width"))
    lines = root.findall(f"{SVG}line")
    assert len(lines) == 5
    for held in lines:
        for key, corner in (("x1", x), ("x2", x), ("y1", y), ("y2", y)):
            assert corner - 0.01 <= float(held.get(key, "")) <= corner + side + 0.01


def test_other_totals_are_refused() -> None:
    with pytest.raises(ValueError, match="100 or 1000 children; found 50"):
        Shares(1, 1, 50)


def test_the_childs_left_stands_on_the_left_and_both_edges_say_so() -> None:
    root = ET.fromstring(ladder_drawing(LADDER).svg)  # noqa: S314  our own text
    texts = {(t.text or "", float(t.get("x", ""))) for t in root.findall(f"{SVG}text")}
    letters = sorted((x, words) for words, x in texts if words in ("L", "R"))
    assert [words for _, words in letters] == ["L", "R"]
    assert len([1 for t in root.findall(f"{SVG}text") if t.text in ("L", "R")]) == 4
    left = next(x for words, x in texts if words.startswith("3.0 mm"))
    middle = next(x for words, x in texts if words == "C2")
    assert left < middle
    assert ("seen from behind", middle) in texts


def test_the_ladder_in_words_names_every_site_and_class() -> None:
    words = ladder_drawing(LADDER).words.splitlines()
    assert words[0] == "Seen from behind, the child's left on the left."
    assert words[2] == "C1: left: fits, 3.5 mm +0.6, planned here; right: no bone."
    expected = "C2: left: fits barely, 3.0 mm +0.1, artery <over> entry; right: does not fit. Grown together"
    assert words[3].startswith(expected)


def test_the_legend_says_what_letter_and_figures_are_for() -> None:
    held = ladder_drawing(Ladder((Rung("C1", Site(Mark.FITS, ("pedicle", "3.5 +0.6", "narrow"))),)))
    for says in ("shape and letter: for the planned", "beside it: largest screw that fits, margin left, in mm"):
        assert says in held.svg


def test_words_beside_a_site_stay_on_the_sheet_in_a_wide_font() -> None:
    """Bold capitals aside, a letter of a wide sans-serif is at most 0.75 of the size on average (common practice)."""
    words = ("lateral mass", "3.5 +0.6", "entry low")
    held = ladder_drawing(Ladder((Rung("C1", Site(Mark.FITS, words), Site(Mark.FITS, words)),)))
    root = ET.fromstring(held.svg)  # noqa: S314  our own text
    width = float(root.get("width", "nan"))
    told = [part for part in root.iter() if part.text in words]
    assert len(told) == 6
    for part in told:
        x, long = float(part.get("x", "nan")), 0.75 * float(part.get("font-size", "nan")) * len(part.text or "")
        assert (x - long if part.get("text-anchor") == "end" else x) >= 0.0
        assert (x if part.get("text-anchor") == "end" else x + long) <= width


def test_every_class_has_a_shape_or_letter_of_its_own_without_any_colour() -> None:
    told = {mark: ladder_drawing(Ladder((Rung("C1", Site(mark)),))).svg.split(">C1<")[1] for mark in Mark}
    assert len(set(told.values())) == len(Mark)
    outlines = {mark: _children_before_legend(mark) for mark in Mark}
    assert len({outlines[m] for m in (Mark.FITS, Mark.BARELY, Mark.NOT, Mark.UNKNOWN, Mark.NO_BONE)}) == 5


def _children_before_legend(mark: Mark) -> tuple[str, ...]:
    """The kinds of shape that one site adds to an empty rung; a dashed outline counts as another kind."""
    with_site = ET.fromstring(ladder_drawing(Ladder((Rung("C1", Site(mark)),))).svg)  # noqa: S314  our own text
    without = ET.fromstring(ladder_drawing(Ladder((Rung("C1"),))).svg)  # noqa: S314  our own text
    known = [ET.tostring(part) for part in without]
    added = [part for part in with_site if ET.tostring(part) not in known and part.tag != f"{SVG}title"]
    return tuple(
        part.tag + ("-dashed" if part.get("stroke-dasharray") else "") for part in added if part.tag != f"{SVG}text"
    )


def test_a_calibrated_model_lies_on_the_line_of_agreement() -> None:
    held = calibration_curve(Calibration([0.1, 0.3], [0.1, 0.3]), "w")
    root = ET.fromstring(held.svg)  # noqa: S314  our own text
    (curve,) = root.findall(f"{SVG}polyline")
    (dashed,) = (part for part in root.findall(f"{SVG}line") if part.get("stroke-dasharray"))
    x1, y1, x2, y2 = (float(dashed.get(key, "")) for key in ("x1", "y1", "x2", "y2"))
    for point in curve.get("points", "").split():
        x, y = map(float, point.split(","))
        assert y == pytest.approx(y1 + (x - x1) * (y2 - y1) / (x2 - x1), abs=0.02)


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4))
def test_ticks_are_round_even_and_within(low: float, width: float) -> None:
    held = ticks((low, low + width))
    assert 2 <= len(held) <= 12
    assert all(low - 1e-6 * width <= x <= low + width + 1e-6 * width for x in held)
    gaps = [after - before for before, after in pairwise(held)]
    assert gaps == pytest.approx([gaps[0]] * len(gaps), rel=1e-6)


@pytest.mark.parametrize(
    ("value", "words"), [(0.0, "0"), (-0.001, "0"), (1.5, "1.5"), (100.0, "100"), (-2.25, "-2.25")]
)
def test_lengths_are_short(value: float, words: str) -> None:
    assert number(value) == words
