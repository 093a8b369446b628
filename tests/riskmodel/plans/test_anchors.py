"""How anchors fit, against published measurements of children; the source beside each."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.plans import AnchorFit, Corridor
from riskmodel.plans.words import Because, Fit, Kind, Level
from tests.riskmodel.plans.builders import LEFT, MIDLINE, RIGHT, case, fit, ground

C1_MASS = (Level.C1, RIGHT, Kind.LATERAL_MASS_SCREW)
PEDICLE = (Level.C2, RIGHT, Kind.PEDICLE_SCREW)
LAMINA = (Level.C2, RIGHT, Kind.LAMINA_SCREW)
PARS = (Level.C2, RIGHT, Kind.PARS_SCREW)
ACROSS = (Level.C2, RIGHT, Kind.TRANSARTICULAR_SCREW)
KEEL = (Level.O, MIDLINE, Kind.MIDLINE_SCREW)
CONDYLE = (Level.O, RIGHT, Kind.CONDYLE_SCREW)
USUAL: dict[str, object] = {"artery_right": "usual", "artery_left": "usual"}


def pedicle(
    width: float | None, height: float | None = 6.0, asked_mm: float | None = None, /, **values: object
) -> AnchorFit:
    """A right C2 pedicle with a usual artery, unless the values say otherwise."""
    bone = {"c2_pedicle_width_right_mm": width, "c2_pedicle_height_right_mm": height}
    return fit(PEDICLE, {**USUAL, **bone, **values}, asked_mm=asked_mm)


@pytest.mark.parametrize(
    ("width", "margin", "expected"),
    [
        (4.6, 1.1, Fit.WITH_ROOM),
        (4.5, 1.0, Fit.WITH_ROOM),
        (4.4, 0.9, Fit.FITS),
        (4.0, 0.5, Fit.FITS),  # the border: 4.0 - 3.5 is 0.5
        (3.9, 0.4, Fit.BARELY),
        (3.5, 0.0, Fit.BARELY),
        (3.4, -0.1, Fit.NOT),
    ],
)
def test_the_classes_by_margin(width: float, margin: float, expected: Fit) -> None:
    """Source: Geck et al., J Spinal Disord Tech 2014;27:E110-E117: at 3.5 mm feasible from 4.0, difficult from 3.5."""
    held = pedicle(width)
    assert held.fit is expected
    assert held.margin_mm == pytest.approx(margin)
    assert (Because.NARROW in held.because) == (expected in (Fit.BARELY, Fit.NOT))


def test_a_screw_that_does_not_fit_names_the_smaller_ones_that_do() -> None:
    """3.4 mm: not at 3.5, barely at 3.0, fits at 2.7."""
    held = pedicle(3.4)
    assert {size.diameter_mm: size.fit for size in held.sizes} == {
        2.7: Fit.FITS,
        3.0: Fit.BARELY,
        3.5: Fit.NOT,
        4.0: Fit.NOT,
    }
    assert held.largest_fitting is not None
    assert held.largest_fitting.diameter_mm == 2.7
    assert held.largest_possible is not None
    assert held.largest_possible.diameter_mm == 3.0


def test_both_dimensions_decide() -> None:
    assert pedicle(4.6, 3.7).fit is Fit.BARELY
    assert pedicle(4.6, 3.7).margin_mm == pytest.approx(0.2)
    assert pedicle(6.0, 3.0).fit is Fit.NOT


def test_what_was_not_measured_is_not_nought() -> None:
    held = pedicle(None, None)
    assert held.fit is Fit.UNKNOWN
    assert held.margin_mm is None
    assert pedicle(0.0).fit is Fit.NOT


def test_a_missing_second_dimension_makes_it_at_best() -> None:
    held = pedicle(4.6, None)
    assert held.fit is Fit.WITH_ROOM
    assert held.at_best
    assert "C2 pedicle: height, right" in held.not_known
    assert not held.hold_settled
    assert not pedicle(4.6).at_best
    assert not pedicle(3.0, None).at_best


def test_a_known_second_dimension_alone_gives_no_class_but_may_rule_out() -> None:
    assert pedicle(None, 6.0).fit is Fit.UNKNOWN
    assert pedicle(None, 3.0).fit is Fit.NOT


def test_an_absent_side_has_no_bone_and_is_not_unmeasured() -> None:
    held = fit(C1_MASS, case(c1_lm_width_right_mm="not_applicable"))
    assert (held.fit, held.because) == (Fit.NOT, (Because.BONE_MISSING,))
    assert fit(C1_MASS, case(c1_lm_width_right_mm="not_measurable")).fit is Fit.UNKNOWN


def test_an_anchor_on_an_absent_mass_has_no_bone() -> None:
    assert fit(C1_MASS, case(c1_lateral_mass_absent="right")).because == (Because.BONE_MISSING,)
    assert fit(C1_MASS, case(c1_lateral_mass_absent="left")).fit is Fit.UNKNOWN
    assert fit(ACROSS, case(c1_lateral_mass_absent="both", c1c2_path_right_mm=6)).because == (Because.BONE_MISSING,)


@pytest.mark.parametrize("width", [7.3, 8.5, 8.6])
def test_mean_c1_masses_of_children_fit_by_their_width(width: float) -> None:
    """Sources: Geck et al. 2014 (7.3 at 2 to 8.6 at 6 years, over 5 in 100 of 100); J Neurosurg Pediatr 2009;3:20-23
    (mean 8.5)."""
    assert fit(C1_MASS, case(c1_lm_width_right_mm=width, c1_lm_height_right_mm=4.0, **USUAL)).fit is Fit.WITH_ROOM
    assert fit(C1_MASS, case(c1_lm_width_right_mm=5.1, c1_lm_height_right_mm=4.0, **USUAL)).fit is Fit.WITH_ROOM


def test_a_low_entry_never_rules_a_c1_screw_out() -> None:
    """Source: J Neurosurg Pediatr 2009;3:20-23: the mean height of the entry is 2.6 mm in children."""
    held = fit(C1_MASS, case(c1_lm_width_right_mm=8.5, c1_lm_height_right_mm=2.6, **USUAL))
    assert (held.fit, held.because) == (Fit.BARELY, (Because.ENTRY_LOW,))
    assert (held.hold, held.hold_settled) == (Fit.WITH_ROOM, True)
    assert held.largest_fitting is None
    assert fit(C1_MASS, case(c1_lm_width_right_mm=8.5, c1_lm_height_right_mm=0.0)).fit is Fit.BARELY
    assert fit(C1_MASS, case(c1_lm_width_right_mm=8.5, c1_lm_height_right_mm=3.5)).fit is Fit.WITH_ROOM
    assert fit(C1_MASS, case(c1_lm_width_right_mm=3.4, c1_lm_height_right_mm=2.6)).fit is Fit.NOT


def test_an_artery_over_the_entry_rules_it_out() -> None:
    held = fit(C1_MASS, case(c1_lm_width_right_mm=8.5, c1_lm_height_right_mm=4.0, artery_right="over_c1_entry"))
    assert (held.fit, held.because) == (Fit.NOT, (Because.ARTERY,))
    assert held.sizes[0].fit is Fit.NOT
    assert fit(C1_MASS, case(artery_right="over_c1_entry")).fit is Fit.NOT


def test_mean_pedicles_of_small_children() -> None:
    """Source: Geck et al. 2014: 3.85 mm at 2 years, 4.18 at 6."""
    assert pedicle(3.85).fit is Fit.BARELY
    assert pedicle(4.18).fit is Fit.FITS


def test_the_adult_artery_rule_makes_it_barely_and_never_less() -> None:
    """Sources: Yeom et al. 2013 for the rule; 31% of such adult pedicles were placed safely (Int J Spine Surg 2018)."""
    low: dict[str, object] = {"c2_isthmus_height_right_mm": 4.0, "c2_internal_height_right_mm": 1.5}
    held = pedicle(5.0, **low, artery_right="not_imaged", age_years=6.0)
    assert (held.fit, held.because) == (Fit.BARELY, (Because.ARTERY,))
    assert "small children meet it often" in held.caps[0].says
    assert "artery not imaged" in held.notes
    assert pedicle(5.0, **low, artery_right="not_imaged", age_years=9.0).caps[0].says.endswith("high-riding artery")


def test_an_artery_scan_overrides_the_rule() -> None:
    low: dict[str, object] = {"c2_isthmus_height_right_mm": 4.0, "c2_internal_height_right_mm": 1.5, "age_years": 9.0}
    seen = pedicle(5.0, **low)
    assert seen.fit is Fit.WITH_ROOM
    assert any("the artery scan shows it not high-riding" in note for note in seen.notes)
    high = pedicle(5.0, c2_isthmus_height_right_mm=7.0, c2_internal_height_right_mm=5.0, artery_right="high_riding")
    assert (high.fit, high.because) == (Fit.BARELY, (Because.ARTERY,))


def test_not_imaged_is_said_and_not_read_as_usual() -> None:
    for artery in (None, "not_imaged"):
        held = fit(PEDICLE, case(c2_pedicle_width_right_mm=5, c2_pedicle_height_right_mm=6, artery_right=artery))
        assert "artery not imaged" in held.notes
    assert "artery not imaged" not in pedicle(5.0).notes


def test_mean_laminae() -> None:
    """Source: J Neurosurg Pediatr 2009;3:121-128: mean 5.07 mm; one screw from 4 mm."""
    assert fit(LAMINA, case(c2_lamina_thickness_right_mm=5.07)).fit is Fit.WITH_ROOM
    assert fit(LAMINA, case(c2_lamina_thickness_right_mm=4.0)).fit is Fit.FITS
    note = "outer or inner cortex not stated: published rates differ by it"
    assert note in fit(LAMINA, case(c2_lamina_thickness_right_mm=4.0)).notes
    assert note not in fit(LAMINA, case(c2_lamina_thickness_right_mm=4.0, c2_lamina_cortex="outer")).notes


def test_an_open_lamina_takes_no_screw() -> None:
    held = fit(LAMINA, case(c2_lamina_thickness_right_mm=6.0, spina_bifida_c2="yes"))
    assert (held.fit, held.because) == (Fit.NOT, (Because.LAMINA_OPEN,))


def test_a_pars_screw_needs_length_to_the_groove() -> None:
    """10 mm is an own proposal, no source."""
    wide: dict[str, object] = {"c2_pars_width_right_mm": 5.0, **USUAL}
    assert fit(PARS, case(**wide, c2_pars_length_right_mm=10.0)).fit is Fit.WITH_ROOM
    short = fit(PARS, case(**wide, c2_pars_length_right_mm=9.9))
    assert (short.fit, short.because) == (Fit.NOT, (Because.SHORT,))
    assert fit(PARS, case(**wide)).at_best
    riding = fit(PARS, case(c2_pars_width_right_mm=5, c2_pars_length_right_mm=12, artery_right="high_riding"))
    assert riding.fit is Fit.BARELY
    assert "a short screw only" in riding.notes


def test_transarticular_paths_of_small_children() -> None:
    """Source: Geck et al. 2014: mean path 2.6 to 3.1 mm, difficult but possible on 4 of 100 sides."""
    ready: dict[str, object] = {"reduces": "awake", "drill_line_clears_back": "yes", **USUAL}
    for path in (2.6, 3.1):
        assert fit(ACROSS, case(c1c2_path_right_mm=path, **ready)).fit is Fit.NOT
    assert fit(ACROSS, case(c1c2_path_right_mm=4.0, **ready)).fit is Fit.FITS
    fixed = fit(ACROSS, case(c1c2_path_right_mm=6.0, **{**ready, "reduces": "not_under_traction"}))
    assert fixed.because == (Because.NOT_REDUCED,)
    blocked = fit(ACROSS, case(c1c2_path_right_mm=6.0, **{**ready, "drill_line_clears_back": "no"}))
    assert blocked.because == (Because.DRILL_LINE,)
    assert fit(ACROSS, case(c1c2_path_right_mm=6.0, **USUAL)).at_best


@pytest.mark.parametrize(
    ("thickness", "expected"),
    [
        (5.9, Fit.NOT),
        (6.0, Fit.FITS),
        (7.9, Fit.FITS),
        (8.0, Fit.WITH_ROOM),
        (8.4, Fit.WITH_ROOM),
        (10.5, Fit.WITH_ROOM),
    ],
)
def test_the_midline_of_the_occiput(thickness: float, expected: Fit) -> None:
    """Source: Geck et al. 2014: 8.4 to 8.6 mm at 2 years, 10.5 to 10.7 at 6; 6 in 49 of 50, 8 in 42 of 50."""
    held = fit(KEEL, case(occipital_keel_mm=thickness, prior_cvj_surgery=0))
    assert held.fit is expected
    assert not held.at_best


def test_the_longest_stocked_screw_stays_within_the_bone() -> None:
    held = fit(KEEL, case(occipital_keel_mm=9.0, prior_cvj_surgery=0))
    assert [(size.diameter_mm, size.longest_mm) for size in held.sizes] == [(4.5, 8.0)]
    assert fit(KEEL, case(occipital_keel_mm=10.0, prior_cvj_surgery=0)).longest_mm == 10.0


def test_an_earlier_removal_that_leaves_too_little_bone() -> None:
    """15 mm is an own proposal, no source."""
    held = fit(
        KEEL, case(occipital_keel_mm=9.0, prior_posterior_decompression="suboccipital", occipital_bone_left_mm=8)
    )
    assert (held.fit, held.because) == (Fit.NOT, (Because.REMOVED_EARLIER,))
    enough = fit(KEEL, case(occipital_keel_mm=9.0, prior_posterior_decompression="both", occipital_bone_left_mm=15))
    assert (enough.fit, enough.at_best) == (Fit.WITH_ROOM, False)
    unknown = fit(KEEL, case(occipital_keel_mm=9.0, prior_posterior_decompression="suboccipital"))
    assert (unknown.fit, unknown.at_best) == (Fit.WITH_ROOM, True)


@pytest.mark.parametrize(
    ("width", "height", "expected"),
    [(8.0, 6.5, Fit.FITS), (8.8, 7.1, Fit.FITS), (7.9, 7.1, Fit.NOT), (8.8, 6.4, Fit.NOT)],
)
def test_condyles(width: float, height: float, expected: Fit) -> None:
    """Source: Lin et al., Spine 2014 (69 children): 8 mm wide and 6.5 mm high."""
    clear: dict[str, object] = {"hypoglossal_canal_right": "clear"}
    held = fit(CONDYLE, case(condyle_width_right_mm=width, condyle_height_right_mm=height, **clear))
    assert held.fit is expected
    assert max(size.diameter_mm for size in held.sizes) == 3.5
    in_path = fit(CONDYLE, case(condyle_width_right_mm=9, condyle_height_right_mm=8, hypoglossal_canal_right="in_path"))
    assert in_path.because == (Because.NERVE,)
    assert fit(CONDYLE, case(condyle_width_right_mm=9, condyle_height_right_mm=8)).at_best


@pytest.mark.parametrize("kind", [Kind.HOOK, Kind.WIRE, Kind.BAND])
def test_hooks_wires_and_bands_need_a_whole_arch(kind: Kind) -> None:
    """Common practice, no source: an intact arch or lamina of 3 mm or more."""
    assert fit((Level.C2, RIGHT, kind), case(c2_lamina_thickness_right_mm=3.0)).fit is Fit.FITS
    assert fit((Level.C2, RIGHT, kind), case(c2_lamina_thickness_right_mm=2.9)).because == (Because.THIN,)
    for opened in ("open", "open_beside", "partly_absent", "absent"):
        held = fit((Level.C1, RIGHT, kind), case(atlas_posterior_arch=opened))
        assert (held.fit, held.because) == (Fit.NOT, (Because.ARCH_OPEN,))
    assert fit((Level.C1, RIGHT, kind), case(prior_posterior_decompression="c1_arch")).because == (
        Because.REMOVED_EARLIER,
    )


def test_an_arch_screw_needs_the_arch_and_not_the_bridge_over_the_artery() -> None:
    """Source: PMID 25658249: the path through the arch; a bridge may be mistaken for it (common practice)."""
    place = (Level.C1, RIGHT, Kind.ARCH_SCREW)
    bone: dict[str, object] = {"c1_arch_height_right_mm": 4.5, "c1_lm_width_right_mm": 8.0, "artery_right": "usual"}
    whole: dict[str, object] = {"atlas_posterior_arch": "closed"}
    assert fit(place, case(**bone, **whole)).fit is Fit.WITH_ROOM
    bridged = fit(place, case(**bone, **whole, artery_course_right="bony_bridge"))
    assert (bridged.fit, bridged.because) == (Fit.BARELY, (Because.BRIDGE,))
    assert fit(place, case(**bone, atlas_posterior_arch="open")).because == (Because.ARCH_OPEN,)
    assert fit(place, case(c1_lm_width_right_mm=8.0, **whole)).fit is Fit.UNKNOWN


def test_a_measured_path_serves_where_no_variable_does() -> None:
    row = Corridor(Kind.LATERAL_MASS_SCREW, Level.C3, RIGHT, width_mm=6.4, length_mm=12.0)
    held = ground({}, [row]).fit((Level.C3, RIGHT, Kind.LATERAL_MASS_SCREW))
    assert (held.fit, held.longest_mm) == (Fit.WITH_ROOM, 12.0)
    assert held.margin_mm == pytest.approx(2.9)
    assert ground({}, [row]).fit((Level.C3, LEFT, Kind.LATERAL_MASS_SCREW)).fit is Fit.UNKNOWN
    gone = Corridor(Kind.LATERAL_MASS_SCREW, Level.C3, RIGHT, no_bone=True)
    assert ground({}, [gone]).fit((Level.C3, RIGHT, Kind.LATERAL_MASS_SCREW)).because == (Because.BONE_MISSING,)
    early = Corridor(Kind.LATERAL_MASS_SCREW, Level.C3, RIGHT, width_mm=6.4, reduced=False)
    assert "path measured before reduction" in ground({}, [early]).fit((Level.C3, RIGHT, Kind.LATERAL_MASS_SCREW)).notes


def test_the_narrower_of_a_path_and_a_variable_decides() -> None:
    row = Corridor(Kind.PEDICLE_SCREW, Level.C2, RIGHT, width_mm=3.6, height_mm=6.0)
    held = ground(case(c2_pedicle_width_right_mm=5.0, **USUAL), [row]).fit(PEDICLE)
    assert (held.fit, held.at_best) == (Fit.BARELY, False)


def test_thick_slices_leave_nothing_better_than_barely() -> None:
    """Common practice, no source: slices of 1 mm or thinner."""
    assert pedicle(6.0, ct_slice_mm=1.0).fit is Fit.WITH_ROOM
    held = pedicle(6.0, ct_slice_mm=1.25)
    assert (held.fit, held.because) == (Fit.BARELY, (Because.SLICES,))
    assert pedicle(3.0, ct_slice_mm=3.0).fit is Fit.NOT


@pytest.mark.parametrize(
    ("width", "other"),
    [
        (4.0, Fit.BARELY),
        (3.9, Fit.FITS),
        (3.8, Fit.FITS),
        (3.7, Fit.NOT),
        (3.6, Fit.NOT),
        (3.4, Fit.BARELY),
        (3.2, None),
        (4.3, Fit.WITH_ROOM),
        (4.6, Fit.FITS),
        (5.0, None),
    ],
)
def test_near_a_border_it_could_be_the_next_class(width: float, other: Fit | None) -> None:
    """0.2 mm is an own proposal, no source."""
    assert pedicle(width).could_be is other


def test_what_holds_a_class_down_holds_the_next_one_down_too() -> None:
    held = pedicle(4.1, artery_right="high_riding")
    assert (held.fit, held.could_be) == (Fit.BARELY, None)
    assert pedicle(3.6, artery_right="high_riding").could_be is Fit.NOT


TENTHS = st.integers(0, 90).map(lambda tenths: tenths / 10)
_RANK = {Fit.NOT: 0, Fit.BARELY: 1, Fit.FITS: 2, Fit.WITH_ROOM: 3}


@settings(max_examples=40)
@given(TENTHS, TENTHS, TENTHS, st.sampled_from([2.7, 3.0, 3.5, 4.0]))
def test_wider_bone_and_thinner_screws_are_never_worse(a: float, b: float, height: float, diameter: float) -> None:
    narrow, wide = sorted((a, b))
    less, more = (pedicle(width, height, diameter) for width in (narrow, wide))
    assert _RANK[less.fit] <= _RANK[more.fit]
    ranks = [_RANK[size.fit] for size in less.sizes]
    assert ranks == sorted(ranks, reverse=True)


@settings(max_examples=40)
@given(TENTHS, TENTHS)
def test_the_largest_that_fits_is_the_last_one_with_room_around_it(width: float, height: float) -> None:
    held = pedicle(width, height)
    fitting = [
        diameter for diameter in (2.7, 3.0, 3.5, 4.0) if round(10 * min(width, height)) >= round(10 * diameter) + 5
    ]
    assert (held.largest_fitting and held.largest_fitting.diameter_mm) == (fitting[-1] if fitting else None)


@settings(max_examples=40)
@given(TENTHS, TENTHS, st.sampled_from(["usual", "high_riding", "over_c1_entry", "not_imaged"]))
def test_a_mirrored_child_has_mirrored_anchors(width: float, entry: float, artery: str) -> None:
    def on(side: str) -> dict[str, object]:
        names = {"c1_lm_width_{}_mm": width, "c1_lm_height_{}_mm": entry, "artery_{}": artery}
        return {name.format(side): value for name, value in names.items()}

    right = fit(C1_MASS, case(**on("right")))
    left = fit((Level.C1, LEFT, Kind.LATERAL_MASS_SCREW), case(**on("left")))
    assert (right.fit, right.because, right.margin_mm, right.could_be) == (
        left.fit,
        left.because,
        left.margin_mm,
        left.could_be,
    )


@pytest.mark.parametrize("kind", [Kind.WIRE, Kind.BAND])
@pytest.mark.parametrize("measured", ["right", "left"])
def test_in_the_midline_both_laminae_must_be_measured_whichever_is_not(kind: Kind, measured: str) -> None:
    place = (Level.C2, MIDLINE, kind)
    one = {f"c2_lamina_thickness_{measured}_mm": 5.0}
    assert fit(place, one).fit is Fit.UNKNOWN
    assert fit(place, {f"c2_lamina_thickness_{measured}_mm": 2.0}).fit is Fit.NOT
    other = {"right": "left", "left": "right"}[measured]
    assert fit(place, {**one, f"c2_lamina_thickness_{other}_mm": 4.0}).fit is Fit.FITS
