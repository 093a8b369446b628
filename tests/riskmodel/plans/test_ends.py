"""Firm and half anchors at each end, and the plan as a model's columns."""

from dataclasses import replace

import pytest

from riskmodel.plans.core import CORE, columns, construct_kind, graft_kind, of_the_plan, with_plan
from riskmodel.plans.ends import Ends, Segment, ends, unstable_segment
from riskmodel.plans.plan import Anchor, Plan, Spacers
from riskmodel.plans.views import plan_view
from riskmodel.plans.words import Graft, Kind, Level, Removal, Support
from tests.riskmodel.plans.builders import LEFT, MIDLINE, RIGHT, anchor, both, case, child, dictionary, ground, plan

BONE: dict[str, object] = {
    "unstable_c1_c2": "yes",
    "artery_right": "usual",
    "artery_left": "usual",
    "c1_lm_width_right_mm": 8.0,
    "c1_lm_width_left_mm": 8.0,
    "c1_lm_height_right_mm": 2.6,
    "c1_lm_height_left_mm": 4.0,
    "c2_pedicle_width_right_mm": 4.6,
    "c2_pedicle_width_left_mm": 3.6,
    "c2_pedicle_height_right_mm": 6.0,
    "c2_pedicle_height_left_mm": 6.0,
    "occipital_keel_mm": 9.0,
    "prior_cvj_surgery": 0,
}
SCREWS = (*both(Level.C1, Kind.LATERAL_MASS_SCREW), *both(Level.C2, Kind.PEDICLE_SCREW))


def ends_of(held: Plan, **more: object) -> Ends:
    where = ground({**BONE, **more})
    return ends(where.child, held, [where.fit_planned(part, held) for part in held.anchors])


def columns_of(held: Plan, **more: object) -> dict[str, object]:
    where = ground({**BONE, **more})
    fits = [where.fit_planned(part, held) for part in held.anchors]
    return columns(where.child, held, fits, ends(where.child, held, fits), where.stock)


def test_a_bare_screw_is_half_and_a_low_entry_is_not_bare_bone() -> None:
    held = ends_of(plan(Level.C1, Level.C2, *SCREWS))
    assert (held.above.firm, held.above.half) == (2, 0)
    assert (held.below.firm, held.below.half) == (1, 1)
    assert held.weaker_firm == (1, 1)
    assert held.weaker.words == "1 firm, 1 half"


def test_hooks_wires_and_bands_are_half() -> None:
    held = ends_of(
        plan(Level.C1, Level.C2, anchor(Level.C2, RIGHT, Kind.HOOK), anchor(Level.C2, LEFT, Kind.BAND)),
        c2_lamina_thickness_right_mm=5,
        c2_lamina_thickness_left_mm=5,
    )
    assert (held.below.firm, held.below.half) == (0, 2)


def test_what_does_not_fit_holds_nothing() -> None:
    held = ends_of(plan(Level.C1, Level.C2, *SCREWS), c2_pedicle_width_right_mm=3.0)
    assert (held.below.firm, held.below.half) == (0, 1)


def test_midline_screws_count_two_at_most() -> None:
    screw = anchor(Level.O, MIDLINE, Kind.MIDLINE_SCREW, 4.5)
    for count, firm in ((1, 1), (2, 2), (3, 2)):
        assert ends_of(plan(Level.O, Level.C2, *[screw] * count)).above.firm == firm


def test_a_screw_across_the_joint_holds_both_ends() -> None:
    held = ends_of(
        plan(Level.C1, Level.C2, *both(Level.C2, Kind.TRANSARTICULAR_SCREW)),
        c1c2_path_right_mm=5,
        c1c2_path_left_mm=5,
        reduces="awake",
        drill_line_clears_back="yes",
    )
    assert (held.above.firm, held.below.firm) == (2, 2)


def test_what_is_not_measured_leaves_the_count_open() -> None:
    held = ends_of(plan(Level.C1, Level.C2, *SCREWS), c2_pedicle_width_right_mm=None)
    assert (held.below.firm, held.below.half, held.below.open) == (0, 1, 1)
    assert held.weaker_firm == (0, 1)
    assert held.below.words == "0 firm, 1 half, 1 not known"


def test_an_open_count_that_cannot_change_the_weaker_end_is_settled() -> None:
    one = plan(Level.C1, Level.C2, *SCREWS, anchor(Level.C2, RIGHT, Kind.PARS_SCREW))
    held = ends_of(one, c1_lm_width_right_mm=3.0, c1_lm_width_left_mm=3.0)
    assert held.below.open == 1
    assert held.weaker_firm == (0, 0)


@pytest.mark.parametrize(
    ("values", "levels", "expected"),
    [
        (case(unstable_c1_c2="yes"), (Level.O, Level.C3), Segment(Level.C1, Level.C2, stated=True)),
        (case(unstable_o_c1="yes"), (Level.O, Level.C3), Segment(Level.O, Level.C1, stated=True)),
        (case(unstable_o_c1="yes", unstable_c1_c2="yes"), (Level.O, Level.C3), Segment(Level.O, Level.C2, stated=True)),
        (case(unstable_below_c2="yes"), (Level.O, Level.C5), Segment(Level.C2, Level.C3, stated=True)),
        (case(unstable_c1_c2="not_tested"), (Level.O, Level.C3), Segment(Level.C1, Level.C2, stated=False)),
        ({}, (Level.C2, Level.C4), Segment(Level.C2, Level.C3, stated=False)),
    ],
)
def test_the_unstable_segment(values: dict[str, object], levels: tuple[Level, Level], expected: Segment) -> None:
    assert unstable_segment(child(values), plan(*levels)) == expected


def test_bones_within_the_unstable_segment_belong_to_neither_end() -> None:
    held = ends_of(plan(Level.O, Level.C2, *SCREWS), unstable_o_c1="yes")
    assert held.above.firm == 0
    assert held.below.firm == 1


@pytest.mark.parametrize(
    ("rods", "anchors", "expected"),
    [
        (2, SCREWS, "rigid"),
        (0, both(Level.C2, Kind.TRANSARTICULAR_SCREW), "transarticular_cable"),
        (2, (*both(Level.C2, Kind.TRANSARTICULAR_SCREW),), "rigid"),
        (2, (*both(Level.C1, Kind.HOOK), *both(Level.C2, Kind.PEDICLE_SCREW)), "hook_or_wire_rod"),
        (2, (anchor(Level.C1, MIDLINE, Kind.WIRE),), "hook_or_wire_rod"),
        (0, (anchor(Level.C1, MIDLINE, Kind.WIRE),), "no_rigid_metal"),
        (0, (), "no_rigid_metal"),
    ],
)
def test_the_kind_of_construct(rods: int, anchors: tuple[Anchor, ...], expected: str) -> None:
    assert construct_kind(plan(Level.C1, Level.C2, *anchors, rods=rods)) == expected
    assert expected in dictionary().variables["construct_kind"].codes


@pytest.mark.parametrize(
    ("graft", "expected"),
    [
        ((Graft.LOCAL, Graft.RIB), "structural_own"),
        ((Graft.ILIAC_CHIPS, Graft.DONOR_STRUCTURAL), "other_own"),
        ((Graft.DONOR_STRUCTURAL, Graft.DEMINERALISED), "donor"),
        ((), "none"),
    ],
)
def test_the_strongest_graft(graft: tuple[Graft, ...], expected: str) -> None:
    assert graft_kind(graft) == expected
    assert expected in dictionary().variables["graft_kind"].codes


def test_a_plan_as_columns() -> None:
    held = replace(
        plan(Level.C1, Level.C2, *SCREWS),
        graft=(Graft.ILIAC_STRUCTURAL, Graft.LOCAL),
        support=Support.COLLAR,
        removal=(Removal.FORAMEN_MAGNUM, Removal.VENTRAL),
        bmp=False,
    )
    told = columns_of(held)
    assert {name: told[name] for name in CORE} == {
        "upper_level": "C1",
        "lower_level": "C2",
        "construct_kind": "rigid",
        "weaker_end_anchors": 1,
        "graft_kind": "structural_own",
        "planned_decompression": "foramen_magnum+ventral",
        "planned_support": "collar",
    }
    assert (told["includes_occiput"], told["n_segments"], told["n_fixation_points"]) == ("no", 1, 4)
    assert (told["min_margin_mm"], told["n_barely"], told["gap_excess_mm"]) == (0.1, 2, 0.0)
    assert (told["graft_sources"], told["bmp_used"], told["cross_connector"]) == ("iliac+local", "no", "no")


def test_what_a_plan_does_not_settle_is_left_out() -> None:
    told = columns_of(plan(Level.C1, Level.C2, *SCREWS), c2_pedicle_width_right_mm=None)
    unsettled = {"weaker_end_anchors", "graft_kind", "planned_decompression", "planned_support", "min_margin_mm"}
    assert unsettled.isdisjoint(told)
    assert columns_of(replace(plan(Level.C1, Level.C2), removal=(), graft=()))["planned_decompression"] == "none"


@pytest.mark.parametrize(
    ("right", "left", "expected"), [(4.0, 8.5, 1.5), (4.0, 5.0, 0.0), (8.5, None, None), (9.0, "not_applicable", 2.0)]
)
def test_the_gap_beyond_the_tallest_spacer(right: float, left: object, expected: float | None) -> None:
    held = replace(plan(Level.C1, Level.C2, *SCREWS), spacers=Spacers(5.0, 5.0))
    told = columns_of(held, c1c2_gap_traction_right_mm=right, c1c2_gap_traction_left_mm=left)
    assert told.get("gap_excess_mm") == expected
    assert told["largest_spacer_mm"] == 7.0


def test_every_column_is_one_of_the_dictionary_and_is_accepted_by_it() -> None:
    held = replace(
        plan(Level.O, Level.C2, *SCREWS), graft=(Graft.RIB,), spacers=Spacers(5.0, 6.0), support=Support.HALO
    )
    told = columns_of(held, c1c2_gap_traction_right_mm=4, c1c2_gap_traction_left_mm=8)
    assert all(of_the_plan(dictionary().variables[name]) for name in told)
    assert child(with_plan(BONE, told, dictionary())).code("upper_level") == "O"


def test_a_plan_replaces_everything_of_another_plan() -> None:
    values = case(age_years=8, upper_level="O", graft_kind="donor", cross_connector="yes", artery_right="usual")
    own = case(upper_level="C1")
    assert with_plan(values, own, dictionary()) == {"age_years": 8, "artery_right": "usual", "upper_level": "C1"}


def test_spanned_anchored_and_grafted_are_told_apart() -> None:
    held = replace(plan(Level.O, Level.C3, *SCREWS), graft_upper=Level.O, graft_lower=Level.C2)
    view = plan_view(ground({**BONE, **case(c2_c3_fusion="yes", atlas_assimilation="complete")}), held)
    expected = (
        "O to C3, 3 segments; anchors at C1 and C2; graft on O to C2; fused from birth: O-C1 (right and left) and C2-C3"
    )
    assert view.levels == expected
