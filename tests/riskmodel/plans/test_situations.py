"""Prompts, rescue, kit, stop rules and watch list. Where no other source stands: common practice, no source."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from riskmodel.plans import Corridor, read_limits
from riskmodel.plans.plan import Plan, Spacers
from riskmodel.plans.rescue import Rescue
from riskmodel.plans.sites import Ground, all_sites
from riskmodel.plans.situations import Prompt, prompts
from riskmodel.plans.theatre import Ready, StopRule, kit, stop_rules
from riskmodel.plans.views import PlanView, plan_view
from riskmodel.plans.watch import WatchItem, watch_list
from riskmodel.plans.words import Fit, JointsPrepared, Kind, Level, Removal, Step, Support
from tests.riskmodel.plans.builders import LEFT, MIDLINE, RIGHT, anchor, both, case, child, ground, plan

C1_C2 = (*both(Level.C1, Kind.LATERAL_MASS_SCREW), *both(Level.C2, Kind.PEDICLE_SCREW))


def told(values: dict[str, object]) -> dict[str, Prompt]:
    return {prompt.situation: prompt for prompt in prompts(ground(values))}


def reminded(held: Plan, values: dict[str, object]) -> dict[str, Prompt]:
    return {prompt.situation: prompt for prompt in plan_view(ground(values), held).prompts}


QUIET = case(
    unstable_c1_c2="no",
    unstable_below_c2="yes",
    artery_right="usual",
    artery_left="usual",
    reduces="awake",
    age_years=19,
    atlas_posterior_arch="closed",
    atlas_anterior_arch="closed",
)


@pytest.mark.parametrize(
    ("values", "step", "situation", "says"),
    [
        (case(c1_lateral_mass_absent="left"), Step.LEVELS, "C1 lateral mass absent or tiny (left)", "weak in rotation"),
        (case(artery_left="high_riding"), Step.ANCHORS, "high-riding artery (left)", "leave it if the first side bled"),
        (case(artery_left="not_imaged"), Step.ANCHORS, "artery not imaged (left)", "ask for CTA or MRA"),
        (case(atlas_posterior_arch="absent"), Step.ANCHORS, "posterior arch of C1 absent", "a graft in the joints"),
        (
            case(atlas_posterior_arch="open", atlas_anterior_arch="open"),
            Step.ANCHORS,
            "both arches of the atlas open",
            "join them with a cross-connector or span the occiput",
        ),
        (
            case(atlas_assimilation="complete"),
            Step.LEVELS,
            "atlas joined to the occiput (right and left)",
            "a joint below",
        ),
        (case(reduces="not_under_traction"), Step.REDUCTION, "does not reduce under traction", "release, osteotomy"),
        (case(reduces="not_tested"), Step.REDUCTION, "reduction not tested", "before anchors are settled"),
        (
            case(c1c2_gap_traction_left_mm=8.5),
            Step.HEALING,
            "joint gap wider than the tallest spacer (left)",
            "shape a block of the child's own cortical bone",
        ),
        (
            case(c1c2_gap_rest_right_mm=3),
            Step.HEALING,
            "joint gap under traction not known (right)",
            "measure under traction, or plan for the graft block",
        ),
        (
            case(c1c2_gap_traction_right_mm=4, c1c2_gap_traction_left_mm=6),
            Step.HEALING,
            "joint gaps differ by 2 mm",
            "spacers of two heights, or a block on one side",
        ),
        (case(unstable_c1_c2="yes"), Step.ANCHORS, "unstable C1", "counter-pressure while drilling and tapping C1"),
        (case(bone_density_z=-2.0), Step.HEALING, "soft bone", "more anchors"),
        (case(condition="osteogenesis_imperfecta"), Step.HEALING, "soft bone", "more anchors"),
        (case(condition="del_22q11"), Step.ANCHORS, "22q11 deletion, carotid not looked at", "23 of 90"),
        (case(occipital_sinus="present"), Step.ANCHORS, "large occipital sinus", "9 of 50"),
        (case(age_years=8), Step.LEVELS, "growing child", "fewest levels that hold"),
        (case(urgency="emergency"), Step.INSTABILITY, "emergency", "do not wait for a number"),
        (case(artery_dominance="single_left"), Step.ANCHORS, "one vertebral artery only (left)", "no second one"),
    ],
)
def test_a_situation_is_prompted_at_its_step(values: dict[str, object], step: Step, situation: str, says: str) -> None:
    """Sources beside the prompts: Kimia et al. 2020 (23 of 90), Widjaja & Griffiths 2004 (9 of 50); else practice."""
    assert situation not in told(QUIET)
    prompt = told({**QUIET, **values})[situation]
    assert prompt.step is step
    assert says in prompt.says
    assert prompt.source


def test_an_ordinary_child_is_prompted_of_little() -> None:
    assert told(QUIET) == {}


def test_the_adult_rule_alone_is_prompted_when_the_artery_was_not_imaged() -> None:
    low = case(c2_isthmus_height_right_mm=4)
    assert "high-riding artery (right)" in told({**low, "artery_right": "not_imaged"})
    assert "high-riding artery (right)" not in told({**low, "artery_right": "usual"})


def test_a_gap_that_the_stock_fills_is_not_prompted() -> None:
    assert not [name for name in told(case(c1c2_gap_traction_left_mm=7.0)) if "gap" in name]
    assert not [name for name in told(case(c1c2_gap_traction_left_mm=-3.0, c1c2_gap_rest_left_mm=-3)) if "gap" in name]


def test_two_halves_are_joined_by_a_connector_or_the_occiput() -> None:
    halves = case(atlas_posterior_arch="open", atlas_anterior_arch="open", age_years=3)
    name = "two halves of the atlas left free"
    assert name in reminded(plan(Level.C1, Level.C2, *C1_C2), halves)
    assert name not in reminded(plan(Level.C1, Level.C2, *C1_C2, connector=True), halves)
    assert name not in reminded(plan(Level.O, Level.C2, *C1_C2), halves)
    assert name not in reminded(plan(Level.C1, Level.C2, *C1_C2), case(atlas_posterior_arch="open"))


def test_few_firm_anchors_are_pointed_out_at_each_end() -> None:
    values = case(unstable_c1_c2="yes", c1_lm_width_right_mm=8, c1_lm_width_left_mm=8)
    found = reminded(plan(Level.C1, Level.C2, *C1_C2), values)
    assert "few firm anchors below the unstable segment" in found
    assert "few firm anchors above the unstable segment" not in found


def test_no_bone_to_graft_on_is_prompted_while_the_joints_are_not_spoken_of() -> None:
    held = replace(plan(Level.C1, Level.C2, *C1_C2), removal=(Removal.C1_ARCH,))
    assert "no bone behind to graft on" in reminded(held, {})
    assert "no bone behind to graft on" not in reminded(replace(held, joints_prepared=JointsPrepared.BOTH), {})
    assert "no graft" in reminded(replace(held, graft=()), {})


def test_a_spacer_lower_than_the_gap_is_prompted() -> None:
    held = replace(plan(Level.C1, Level.C2, *C1_C2), spacers=Spacers(5.0, 5.0))
    found = reminded(held, case(c1c2_gap_traction_right_mm=6, c1c2_gap_traction_left_mm=5.9))
    assert [name for name in found if name.startswith("spacer")] == ["spacer lower than the gap (right)"]


def rescue_of(held: Plan, values: dict[str, object], rows: Sequence[Corridor] = ()) -> dict[str, Rescue]:
    view = plan_view(ground(values, rows), held)
    return {rescue.anchor: rescue for rescue in view.rescues}


BONE = case(
    artery_right="usual",
    artery_left="usual",
    c2_pedicle_width_right_mm=4.0,
    c2_pedicle_height_right_mm=6.0,
    c2_pedicle_width_left_mm=2.0,
    c2_pedicle_height_left_mm=6.0,
    c2_lamina_thickness_right_mm=3.3,
    c2_lamina_thickness_left_mm=2.0,
    prior_cvj_surgery=0,
)


def test_rescue_looks_at_the_same_path_the_same_bone_and_the_next_one() -> None:
    row = Corridor(Kind.LATERAL_MASS_SCREW, Level.C3, RIGHT, width_mm=6.0)
    held = rescue_of(plan(Level.C1, Level.C2, *C1_C2), BONE, [row])["C2 right pedicle screw"]
    assert [(size.diameter_mm, size.fit) for size in held.smaller] == [(3.0, Fit.WITH_ROOM), (2.7, Fit.WITH_ROOM)]
    assert [fit.label for fit in held.options] == [
        "C2 right lamina screw",
        "C2 right hook",
        "C2 right band",
        "C3 right lateral mass screw",
    ]
    assert held.options[0].asked_mm == 2.7  # at its largest that fits: 3.3 less 2.7 is 0.6
    assert "C2 right pars screw" in held.not_measured


def test_a_side_without_a_rescue_says_so() -> None:
    held = rescue_of(plan(Level.C1, Level.C2, *C1_C2), BONE)["C2 left pedicle screw"]
    assert not held.found
    assert "C3 left lateral mass screw" in held.not_measured


def test_what_the_plan_removes_rescues_nothing() -> None:
    held = replace(plan(Level.C1, Level.C2, *C1_C2), removal=(Removal.C2_LAMINA,))
    found = rescue_of(held, BONE)["C2 right pedicle screw"]
    assert [fit.label for fit in found.options] == []


def test_what_is_already_planned_is_no_rescue() -> None:
    held = plan(Level.C1, Level.C2, *C1_C2, anchor(Level.C2, RIGHT, Kind.LAMINA_SCREW))
    found = rescue_of(held, BONE)
    assert "C2 right lamina screw" not in [fit.label for fit in found["C2 right pedicle screw"].options]


def test_a_c1_that_fails_gives_way_to_the_occiput() -> None:
    values = case(condyle_width_right_mm=9, condyle_height_right_mm=7, occipital_keel_mm=9, prior_cvj_surgery=0)
    found = rescue_of(plan(Level.C1, Level.C2, *C1_C2), values)
    assert [fit.label for fit in found["C1 right lateral mass screw"].options] == [
        "O midline screw",
        "O right condyle screw",
    ]
    assert [fit.label for fit in found["C1 left lateral mass screw"].options] == ["O midline screw"]


def ready(values: dict[str, object], *plans: Plan) -> Ready:
    where: Ground = ground(values)
    views: list[PlanView] = [plan_view(where, held) for held in plans]
    rescues = tuple(rescue for view in views for rescue in view.rescues)
    return Ready(where, plans, tuple(view.ends for view in views), rescues)


def items(values: dict[str, object], *plans: Plan) -> dict[str, tuple[str, ...]]:
    return {item.name: item.because for item in kit(ready(values, *plans))}


def test_the_kit_of_every_child() -> None:
    found = items({}, plan(Level.C1, Level.C2, *C1_C2))
    assert {"hooks", "bands or cables"} < set(found)
    assert "smaller screws (2.7, 3 mm)" in found
    assert "a larger rescue screw (4 mm)" in found
    assert any("haemostatics" in name for name in found)
    assert "cross-connector" not in found


def test_a_gap_that_outgrows_the_stock_brings_the_graft_block_with_its_side() -> None:
    found = items(case(c1c2_gap_traction_right_mm=4, c1c2_gap_traction_left_mm=8.5), plan(Level.C1, Level.C2, *C1_C2))
    (because,) = [words for name, words in found.items() if name.startswith("structural graft")]
    assert because == ("left: gap 8.5 mm under traction, tallest spacer 7 mm",)
    assert "spacers in every height (4, 5, 6, 7 mm)" in found
    assert not [name for name in items(case(c1c2_gap_traction_left_mm=7), plan(Level.C1, Level.C2)) if "block" in name]


def test_a_gap_at_rest_alone_brings_the_graft_block_too() -> None:
    found = items(case(c1c2_gap_rest_right_mm=3), plan(Level.C1, Level.C2, *C1_C2))
    (because,) = [words for name, words in found.items() if name.startswith("structural graft")]
    assert because == ("right: gap known at rest only, so it cannot be assessed",)


def test_two_halves_bring_a_connector() -> None:
    found = items(case(atlas_posterior_arch="open", atlas_anterior_arch="open"), plan(Level.C1, Level.C2, *C1_C2))
    assert "cross-connector" in found


def test_few_anchors_bring_a_halo_and_a_thin_skull_a_warning() -> None:
    held = replace(plan(Level.C1, Level.C2, *C1_C2), support=Support.HALO)
    because = items(case(skull_thin_or_open="yes"), held)["halo ring and pins"]
    assert because == (
        "planned in A",
        "fewer than 2 firm anchors at one end in A",
        "skull thin or open where pins would go: plan them on CT",
    )


def test_stop_rules_name_the_next_bone_for_each_side() -> None:
    held = ready({}, plan(Level.C1, Level.C2, *C1_C2))
    found = stop_rules(held, all_sites(held.ground, held.plans))
    assert StopRule("the first side bled from the artery", "the risky path of the second side is not drilled") in found
    # Nobody measured either of them in this child, and nobody should count on what was not measured.
    assert StopRule("no anchor left at C2 left", "next: C3 (not measured)") in found
    assert StopRule("no anchor left at C1 right", "next: the occiput (not measured)") in found
    assert any(rule.when == "motor potentials fall" for rule in found)
    assert len({rule.when for rule in found}) == len(found)


@pytest.mark.parametrize(
    ("fit", "says"),
    [(Fit.FITS, ""), (Fit.BARELY, ""), (Fit.NOT, " (nothing measured there fits)"), (Fit.UNKNOWN, " (not measured)")],
)
def test_a_stop_rule_says_what_is_known_of_the_place_it_sends_to(fit: Fit, says: str) -> None:
    held = ready({}, plan(Level.C1, Level.C2, *C1_C2))
    sites = [replace(site, fit=fit, sizes=()) for site in all_sites(held.ground, held.plans)]
    assert StopRule("no anchor left at C1 left", f"next: the occiput{says}") in stop_rules(held, sites)


def test_what_holds_on_one_side_only_is_no_way_out_for_the_other() -> None:
    held = ready({}, plan(Level.C1, Level.C2, *C1_C2))
    sites = [
        replace(site, fit=Fit.FITS if site.side is RIGHT else Fit.UNKNOWN, sizes=())
        for site in all_sites(held.ground, held.plans)
    ]
    found = stop_rules(held, sites)
    assert StopRule("no anchor left at C1 right", "next: the occiput") in found
    assert StopRule("no anchor left at C1 left", "next: the occiput (not measured)") in found


def watched(values: dict[str, object], *plans: Plan) -> list[WatchItem]:
    return list(watch_list(child(values), plans, read_limits()))


def of(held: list[WatchItem], what: str) -> list[WatchItem]:
    return [item for item in held if what in item.what]


def test_visits_are_dated_by_the_childs_age() -> None:
    held = watched(case(age_years=9.2, sex="female"))
    visits = of(held, "clinic, and an upright side film")
    assert [item.when for item in visits] == ["6 weeks", "3 months", "6 months", "12 months", "24 months"]
    assert [round(item.from_age_years or 0, 3) for item in visits] == [9.325, 9.45, 9.7, 10.2, 11.2]
    (yearly,) = of(held, "height, O-C2")
    assert (yearly.from_age_years, yearly.to_age_years) == (12.2, 18.0)
    assert all("CT only if its answer changes care" in item.what for item in (*visits, yearly))


def test_growth_is_not_watched_in_the_grown() -> None:
    held = watched(case(age_years=19, sex="male"))
    assert of(held, "height, O-C2") == []
    assert of(held, "extra visit") == []
    assert of(held, "hand-over") == []


def test_without_an_age_everything_stands_without_one() -> None:
    held = watched({})
    assert all(item.from_age_years is None for item in of(held, "clinic, and an upright"))
    assert len(of(held, "hand-over")) == 1


def test_every_child_takes_the_letter_and_the_record_home() -> None:
    held = watched({})
    for what in (
        "airway alert letter",
        "implant record, typed",
        "removal of the implants",
        "play and sport",
        "missed visit",
    ):
        assert len(of(held, what)) == 1
    assert "magnet" in of(held, "implant record")[0].what


def test_the_occiput_brings_swallowing_and_sleep_for_the_plans_that_have_it() -> None:
    with_it, without = plan(Level.O, Level.C2), replace(plan(Level.C1, Level.C2), name="B")
    held = watched({}, with_it, without)
    assert {item.plans for item in of(held, "swallowing")} == {("A",)}
    assert of(watched({}, without), "swallowing") == []


@pytest.mark.parametrize(
    ("condition", "what"),
    [
        ("mps_iva", "MRI below the graft, and of C7-T4 and T11-L2"),
        ("sedc", "MRI below the graft, and of C7-T4 and T11-L2"),
        ("osteogenesis_imperfecta", "skull base"),
        ("sedc", "hips, whole spine, eyes and hearing"),
    ],
)
def test_conditions_bring_their_own(condition: str, what: str) -> None:
    """Sources: Childs Nerv Syst 2018 (s00381-018-3823-9) for storage disease; Sawin & Menezes, J Neurosurg 1997."""
    (item,) = of(watched(case(age_years=8, condition=condition)), what)
    assert (item.from_age_years, item.to_age_years) == (8.0, None)
    assert of(watched(case(age_years=8, condition="non_syndromic")), what) == []


def test_hand_over_is_at_sixteen_to_eighteen() -> None:
    (item,) = of(watched(case(age_years=17.5)), "hand-over")
    assert (item.from_age_years, item.to_age_years) == (17.0, 18.0)


def test_rescue_of_the_midline_looks_at_both_condyles() -> None:
    screw = anchor(Level.O, MIDLINE, Kind.MIDLINE_SCREW, 4.5)
    held = rescue_of(plan(Level.O, Level.C2, screw, screw), case(condyle_width_left_mm=9, condyle_height_left_mm=7))
    assert set(held) == {"O midline screw"}
    options = held["O midline screw"].options
    assert [(fit.side, fit.kind) for fit in options] == [(LEFT, Kind.CONDYLE_SCREW)]
