"""Comparing lengths, joint gaps, arteries, breaches and blood, each against its source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel import dictionary as dictionaries
from riskmodel.anatomy.amounts import asymmetry, at_least, reader_sd
from riskmodel.anatomy.arteries import MEETS, TAIL, meets_adult_rule, rule_words
from riskmodel.anatomy.blood import blood_volume
from riskmodel.anatomy.breach import Direction, breach, four_step_grade, three_step_grade
from riskmodel.anatomy.joints import Seat, gap_excess_mm, outgrows_stock, seat
from riskmodel.anatomy.ratios import canal_ratio, powers_ratio

TENTHS = st.integers(0, 300)


@given(TENTHS, TENTHS)
def test_lengths_in_tenths_compare_as_they_do_on_paper(a: int, b: int) -> None:
    assert at_least(a / 10 - b / 10, 0.5) == (a - b >= 5)


def test_the_half_millimetre_at_a_common_screw() -> None:
    assert at_least(4.0 - 3.5, 0.5)
    assert at_least(4.6 - 4.1, 0.5)  # 0.4999999999999991 in binary
    assert not at_least(3.9 - 3.5, 0.5)


def test_asymmetry_needs_both_sides() -> None:
    assert asymmetry(4.0, 8.5) == pytest.approx(4.5)
    assert asymmetry(8.5, 4.0) == asymmetry(4.0, 8.5)
    assert asymmetry(None, 4.0) is None
    assert asymmetry(0.0, 0.0) == 0.0


def test_reader_error_is_dahlbergs() -> None:
    """Source: Dahlberg's formula sqrt(sum d^2 / 2n), common practice; worked by hand: sqrt((0.04 + 0.16) / 4)."""
    assert reader_sd([4.0, 5.0], [4.2, 4.6]) == pytest.approx(0.05**0.5)
    assert reader_sd([4.0, 5.0], [4.0, 5.0]) == 0.0
    with pytest.raises(ValueError, match="found 1 and 1"):
        reader_sd([4.0], [4.1])
    with pytest.raises(ValueError, match="found 2 and 3"):
        reader_sd([4.0, 4.0], [4.1, 4.0, 4.2])


def test_the_gap_under_traction_is_held_against_the_stock() -> None:
    """Common practice, no source: a gap wider than the tallest spacer takes a shaped block, on either side."""
    assert gap_excess_mm(8.5, 7.0) == pytest.approx(1.5)
    assert outgrows_stock(8.5, 7.0) is True
    assert outgrows_stock(7.0, 7.0) is False
    assert outgrows_stock(-2.0, 4.0) is False
    assert outgrows_stock(None, 7.0) is None
    assert gap_excess_mm(8.5, None) is None


def test_only_the_gap_after_release_tells_of_over_filling() -> None:
    assert seat(None, 6.0) is None
    assert seat(6.0, 5.0) is Seat.LOOSE
    assert seat(6.0, 5.1) is Seat.SEATED
    assert seat(4.1, 6.1) is Seat.OVERFILLED
    assert seat(4.0, 5.9) is Seat.SEATED


@pytest.mark.parametrize(
    ("isthmus", "internal", "met"),
    [
        (5.0, 6.0, True),
        (5.1, 2.0, True),
        (5.1, 2.1, False),
        (6.4, 3.8, False),
        (None, 2.0, True),
        (4.0, None, True),
        (6.0, None, None),
        (None, 3.0, None),
        (None, None, None),
    ],
)
def test_the_adult_rule_for_a_high_riding_artery(
    isthmus: float | None, internal: float | None, met: bool | None
) -> None:
    """Source: Yeom et al., Spine J 2013;13:775-785: isthmus at most 5 mm or internal height at most 2 mm."""
    assert meets_adult_rule(isthmus, internal) is met


def test_under_eight_years_the_tail_is_always_said() -> None:
    assert rule_words(8.0) == MEETS
    assert rule_words(7.9) == f"{MEETS}; {TAIL}"
    assert rule_words(None).endswith(TAIL)


def test_a_paper_that_contradicts_the_rule_meets_it_by_one_height() -> None:
    """Source: J Orthop Surg Res 2022 (s13018-022-03391-z): isthmus 3.7 with an internal height of 10.5 mm."""
    assert meets_adult_rule(3.7, 10.5) is True


@pytest.mark.parametrize(
    ("share", "four", "three"),
    [
        (0.0, 0, 0),
        (0.01, 1, 1),
        (0.2499, 1, 1),
        (0.25, 2, 1),
        (0.4999, 2, 1),
        (0.50, 2, 2),
        (0.5001, 3, 2),
        (1.2, 3, 2),
    ],
)
def test_both_gradings_at_their_borders(share: float, four: int, three: int) -> None:
    """Sources: J Korean Neurosurg Soc 2012;52:459-465 (quarters); the three steps and 0.50 counting as grade 2 are
    common practice, no source."""
    assert four_step_grade(share) == four
    assert three_step_grade(share) == three


def test_half_of_a_screw_is_at_the_border_in_millimetres_too() -> None:
    held = breach(1.75, 3.5, Direction.FORAMEN)
    assert (held.four_step, held.three_step, held.direction) == (2, 2, Direction.FORAMEN)
    assert breach(0.675, 2.7, Direction.CANAL).four_step == 2


@pytest.mark.parametrize(
    ("outside", "diameter", "four", "three"), [(0.1, 3.5, 1, 1), (0.9, 2.7, 2, 1), (0.4, 0.7, 3, 2)]
)
def test_a_breach_of_under_a_millimetre_is_a_breach(outside: float, diameter: float, four: int, three: int) -> None:
    """By the quarters and halves of the diameter, as above; a screw of under 1 mm is graded like any other."""
    held = breach(outside, diameter, Direction.CANAL)
    assert held.share == pytest.approx(outside / diameter)
    assert (held.four_step, held.three_step) == (four, three)


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_further_out_is_never_a_lower_grade(a: float, b: float) -> None:
    near, far = sorted((a, b))
    assert four_step_grade(near) <= four_step_grade(far)
    assert three_step_grade(near) <= three_step_grade(far)


def test_a_breach_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="0 mm or more outside"):
        breach(-0.1, 3.5, Direction.CANAL)
    with pytest.raises(ValueError, match="a diameter above 0"):
        breach(0.1, 0.0, Direction.CANAL)
    with pytest.raises(ValueError, match="contradicts the direction none"):
        breach(0.5, 3.5, Direction.NONE)
    with pytest.raises(ValueError, match="contradicts the direction canal"):
        breach(0.0, 3.5, Direction.CANAL)


def test_directions_of_a_breach_are_the_dictionarys() -> None:
    codes = dictionaries.read("cvj").variables["breach_direction"].codes
    assert {direction.value for direction in Direction} == set(codes)


def test_the_canal_ratio_does_not_depend_on_size() -> None:
    """Source: Nakamura et al.: 1.29 in children without Down syndrome; here 18.06 over 14 mm."""
    assert canal_ratio(18.06, 14.0) == pytest.approx(1.29)
    assert canal_ratio(18.06 / 2, 7.0) == pytest.approx(1.29)
    assert canal_ratio(9.0, 0.0) is None
    assert canal_ratio(None, 14.0) is None


def test_the_powers_ratio_needs_a_closed_ring() -> None:
    """Common practice, no source: invalid with a split atlas."""
    assert powers_ratio(30.0, 40.0, ring_closed=True) == pytest.approx(0.75)
    assert powers_ratio(30.0, 40.0, ring_closed=False) is None
    assert powers_ratio(30.0, 40.0, ring_closed=None) is None
    assert powers_ratio(30.0, None, ring_closed=True) is None


def test_blood_volume_lies_within_what_is_taught() -> None:
    """Common practice, no source: 70 to 80 ml/kg after infancy."""
    held = blood_volume(26.0, 9.2)
    assert held is not None
    assert 70 * 26 <= held.volume_ml <= 80 * 26
    assert held.loss_ml == ((0.1, 195.0), (0.2, 390.0), (0.4, 780.0))
    assert blood_volume(9.0, 0.9) is None
    assert blood_volume(None, 9.2) is None
    assert blood_volume(26.0, None) is None
