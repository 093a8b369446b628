"""Bounds, estimates, ranges, units in the cell, small numbers in another unit, two sides in one cell."""

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.training.registry.build import column, one, refused, rules, tidied
from training.registry.mapping.model import NumberRule, SideRule
from training.registry.reading.doubt import Doubt
from training.registry.reading.numbers import read_number
from training.registry.reading.sides import split_sides
from training.registry.reading.units import factor

ADI = """
[sheet.column."ADI"]
to = "adi_mm"
"""
ARTERY = """
[sheet.column."VA"]
to = ["artery_right", "artery_left"]
reads = "sides"
both = ["bilat", "both"]
[sheet.column."VA".codes]
"high" = "high_riding"
"n" = "usual"
"""
VAGUE = [("<2", "below", "2"), (">10", "above", "10"), ("≥10", "above", "10"), ("~3", "about", "3"),
         ("3?", "about", "3"), ("ca. 3", "about", "3")]  # fmt: skip


@pytest.mark.parametrize(("cell", "key", "value"), VAGUE)
def test_vague_numbers_need_a_rule(tmp_path: Path, cell: str, key: str, value: str) -> None:
    headers, rows = one("ADI", [cell, 5])
    (finding,) = refused(tmp_path, headers, rows, ADI)
    assert finding.rule == "vague_number"
    assert f'{key} = "value"' in finding.accepted
    assert column(tidied(tmp_path, headers, rows, ADI + f'{key} = "value"'), "adi_mm") == [value, "5"]
    assert column(tidied(tmp_path, headers, rows, ADI + f'{key} = "missing"'), "adi_mm") == ["", "5"]


@pytest.mark.parametrize(("rule", "value"), [("middle", "3.5"), ("low", "3"), ("high", "4"), ("missing", "")])
def test_ranges_need_a_rule(tmp_path: Path, rule: str, value: str) -> None:
    headers, rows = one("ADI", ["3-4", "5"])
    assert rules(refused(tmp_path, headers, rows, ADI)) == ["range"]
    assert column(tidied(tmp_path, headers, rows, ADI + f'between = "{rule}"'), "adi_mm") == [value, "5"]


def test_a_unit_in_the_cell_is_read_and_another_is_converted(tmp_path: Path) -> None:
    headers, rows = one("ADI", ["3.5mm", "0.35 cm", "3.5 MM."])
    assert column(tidied(tmp_path, headers, rows, ADI), "adi_mm") == ["3.5", "3.5", "3.5"]
    headers, rows = one("ADI", ["3.5 kg", "3.5 x"])
    assert rules(refused(tmp_path, headers, rows, ADI)) == ["unknown_unit", "unknown_unit"]


def test_the_unit_of_a_column(tmp_path: Path) -> None:
    headers, rows = one("ADI", [0.35, "0.35"])
    assert column(tidied(tmp_path, headers, rows, ADI + 'unit = "cm"'), "adi_mm") == ["3.5", "3.5"]


def test_small_numbers_in_another_unit(tmp_path: Path) -> None:
    headers, rows = one("ADI", [0.35, 3.5, "0.35"])
    ruled = ADI + 'small_below = 1.0\nsmall_unit = "cm"'
    held = tidied(tmp_path, headers, rows, ruled)
    assert column(held, "adi_mm") == ["3.5", "3.5", "3.5"]
    assert rules(refused(tmp_path, headers, rows, ADI + "small_below = 1.0")) == ["small_unit"]


# Definitions: SI prefixes; the inch is 25.4 mm (International Yard and Pound Agreement, 1959).
@pytest.mark.parametrize(
    ("unit", "into", "by"),
    [("cm", "mm", 10), ("in", "mm", 25.4), ("kg", "g", 1000), ("years", "months", 12), ("L", "ml", 1000)],
)
def test_units_turn_into_each_other(unit: str, into: str, by: float) -> None:
    assert factor(unit, into) == pytest.approx(by)
    assert factor(into, unit) == pytest.approx(1 / by)


@given(st.decimals(-30, 30, places=2))
def test_a_plain_number_is_itself(value: object) -> None:
    assert read_number(str(value), NumberRule(), "mm").value == float(str(value))


@given(st.text(max_size=12))
def test_any_text_is_a_number_or_a_doubt(text: str) -> None:
    with suppress(Doubt):
        assert read_number(text, NumberRule(), "mm").value is not None


@pytest.mark.parametrize(
    ("cell", "sides"),
    [
        ("R 3.2 L 2.8", {"right": "3.2", "left": "2.8"}),
        ("L2.8/R3.2", {"right": "3.2", "left": "2.8"}),
        ("3.2 (R), 2.8 (L)", {"right": "3.2", "left": "2.8"}),
        ("right: 3.2; left: 2.8", {"right": "3.2", "left": "2.8"}),
        ("Lt 2.8", {"left": "2.8"}),
        ("R", {"right": ""}),
        ("bilat 3", {"right": "3", "left": "3"}),
        ("R high L n", {"right": "high", "left": "n"}),
    ],
)
def test_two_sides_in_one_cell(cell: str, sides: dict[str, str]) -> None:
    assert split_sides(cell, SideRule(both=("bilat",))) == sides


@pytest.mark.parametrize("cell", ["3.2 2.8", "R 3.2 R 2.8", "normal", "R 3 left over (L) 2"])
def test_sides_that_cannot_be_told_are_refused(cell: str) -> None:
    with pytest.raises(Doubt):
        split_sides(cell, SideRule())


def test_sides_reach_their_variables(tmp_path: Path) -> None:
    headers, rows = one("VA", ["R high L n", "bilat high", "L high"])
    held = tidied(tmp_path, headers, rows, ARTERY)
    assert column(held, "artery_right") == ["high_riding", "high_riding", ""]
    assert column(held, "artery_left") == ["usual", "high_riding", "high_riding"]


def test_a_cell_without_a_side_needs_a_rule(tmp_path: Path) -> None:
    headers, rows = one("VA", ["n", "high/n"])
    assert rules(refused(tmp_path, headers, rows, ARTERY)) == ["no_side", "no_side"]
    ordered = ARTERY.replace('[sheet.column."VA".codes]', 'unmarked = "left_right"\n[sheet.column."VA".codes]')
    headers, rows = one("VA", ["high/n"])
    held = tidied(tmp_path, headers, rows, ordered)
    assert (column(held, "artery_right"), column(held, "artery_left")) == (["usual"], ["high_riding"])
    both = ARTERY.replace('[sheet.column."VA".codes]', 'unmarked = "both"\n[sheet.column."VA".codes]')
    headers, rows = one("VA", ["n"])
    held = tidied(tmp_path, headers, rows, both)
    assert (column(held, "artery_right"), column(held, "artery_left")) == (["usual"], ["usual"])


def test_a_side_that_is_only_named(tmp_path: Path) -> None:
    headers, rows = one("VA", ["R", "bilat", "L"])
    assert rules(refused(tmp_path, headers, rows, ARTERY)) == ["no_value"] * 3
    named = ARTERY.replace(
        '[sheet.column."VA".codes]', 'named = "high_riding"\nnot_named = "usual"\n[sheet.column."VA".codes]'
    )
    held = tidied(tmp_path, headers, rows, named)
    assert column(held, "artery_right") == ["high_riding", "high_riding", "usual"]
    assert column(held, "artery_left") == ["usual", "high_riding", "high_riding"]
