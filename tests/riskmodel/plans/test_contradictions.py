"""Plans that contradict themselves, and values that contradict each other."""

from dataclasses import replace

import pytest

from riskmodel.errors import Severity
from riskmodel.plans import child_of, read_limits
from riskmodel.plans.agreement import disagreements
from riskmodel.plans.contradictions import Contradiction, contradictions
from riskmodel.plans.healing import graft_bed
from riskmodel.plans.plan import Anchor, Plan, Spacers
from riskmodel.plans.words import JointsPrepared, Kind, Level, Removal, Side, Step, Support
from tests.riskmodel.plans.builders import LEFT, MIDLINE, RIGHT, anchor, both, case, child, dictionary, ground, plan

C1_C2 = (*both(Level.C1, Kind.LATERAL_MASS_SCREW), *both(Level.C2, Kind.PEDICLE_SCREW))


def named(held: Plan, values: dict[str, object]) -> dict[str, Contradiction]:
    where = ground(values)
    found = contradictions(where, held, [where.fit_planned(part, held) for part in held.anchors])
    return {part.rule: part for part in found}


def test_a_plan_of_sound_screws_contradicts_nothing() -> None:
    assert named(plan(Level.C1, Level.C2, *C1_C2), {}) == {}


def test_a_lamina_screw_in_a_lamina_that_is_removed() -> None:
    held = replace(plan(Level.C1, Level.C2, *both(Level.C2, Kind.LAMINA_SCREW)), removal=(Removal.C2_LAMINA,))
    found = named(held, case(c2_lamina_thickness_right_mm=6, c2_lamina_thickness_left_mm=6))["no_bone_for_anchor"]
    assert "lamina of C2 removed in this plan" in found.found
    assert "the bone left in place" in found.accepted


@pytest.mark.parametrize("kind", [Kind.HOOK, Kind.ARCH_SCREW])
def test_an_anchor_on_an_arch_that_is_removed_or_open(kind: Kind) -> None:
    held = plan(Level.C1, Level.C2, anchor(Level.C1, RIGHT, kind))
    removing = replace(held, removal=(Removal.C1_ARCH,))
    assert "removed in this plan" in named(removing, {})["no_bone_for_anchor"].found
    assert "posterior arch of C1 open" in named(held, case(atlas_posterior_arch="open"))["no_bone_for_anchor"].found
    assert "removed earlier" in named(held, case(prior_posterior_decompression="both"))["no_bone_for_anchor"].found
    assert named(held, case(atlas_posterior_arch="closed")) == {}


def test_a_keel_plate_where_the_bone_is_removed() -> None:
    screw = anchor(Level.O, MIDLINE, Kind.MIDLINE_SCREW, 4.5)
    held = replace(
        plan(Level.O, Level.C2, screw, screw), removal=(Removal.FORAMEN_MAGNUM,), occipital_bone_left_mm=10.0
    )
    found = named(held, case(occipital_keel_mm=10, prior_cvj_surgery=0))
    assert "10 mm of bone left above the planned removal" in found["no_bone_for_anchor"].found
    assert len(found) == 1
    assert named(replace(held, occipital_bone_left_mm=15.0), case(occipital_keel_mm=10)) == {}


def test_an_anchor_on_an_absent_mass() -> None:
    found = named(plan(Level.C1, Level.C2, *C1_C2), case(c1_lateral_mass_absent="left"))
    assert found["no_bone_for_anchor"].found == "C1 left lateral mass screw: no bone there"


def test_a_connector_needs_two_rods() -> None:
    for rods, words in ((0, "a connector with 0 rods"), (1, "a connector with 1 rod")):
        found = named(
            plan(Level.C1, Level.C2, *both(Level.C2, Kind.TRANSARTICULAR_SCREW), rods=rods, connector=True), {}
        )
        assert (found["connector_rods"].found, found["connector_rods"].accepted) == (words, "two rods, or no connector")
    assert named(plan(Level.C1, Level.C2, *C1_C2, connector=True), {}) == {}


def test_screws_without_a_rod_hold_nothing() -> None:
    held = plan(Level.C1, Level.C2, *both(Level.C2, Kind.PEDICLE_SCREW), rods=0)
    assert "C2 right pedicle screw and C2 left pedicle screw" in named(held, {})["screws_without_rods"].found
    assert named(plan(Level.C1, Level.C2, *both(Level.C2, Kind.TRANSARTICULAR_SCREW), rods=0), {}) == {}


@pytest.mark.parametrize(
    ("canal", "reduces", "found"),
    [
        (12.9, "not_under_traction", True),
        (13.0, "not_under_traction", False),
        (9.0, "awake", False),
        (9.0, "under_traction", False),
        (9.0, "not_tested", False),
        (None, "not_under_traction", False),
    ],
)
def test_a_wire_in_a_tight_canal_with_an_unreduced_joint(canal: float | None, reduces: str, found: bool) -> None:
    """Source: upper cervical canal in children, 121 MRI: 13 mm is the usual mark."""
    held = plan(Level.C1, Level.C2, anchor(Level.C2, MIDLINE, Kind.WIRE), *C1_C2)
    assert ("wire_in_tight_canal" in named(held, case(padi_mm=canal, reduces=reduces))) is found
    assert "wire_in_tight_canal" not in named(plan(Level.C1, Level.C2, *C1_C2), case(padi_mm=canal, reduces=reduces))


def test_nothing_can_fuse_without_bone_behind_and_without_joints() -> None:
    """Common practice, no source."""
    held = replace(plan(Level.C1, Level.C2, *C1_C2), removal=(Removal.C1_ARCH,), joints_prepared=JointsPrepared.NONE)
    found = named(held, {})["nothing_can_fuse"]
    assert (found.step, found.found) == (
        Step.HEALING,
        "nothing here can fuse: no bone behind to graft on, and no joint prepared",
    )
    assert named(replace(held, joints_prepared=JointsPrepared.ONE_SIDE), {}) == {}
    assert named(replace(held, spacers=Spacers(right_mm=5.0)), {}) == {}
    assert named(replace(held, joints_prepared=None), {}) == {}
    assert named(replace(held, removal=()), case(atlas_posterior_arch="closed")) == {}


@pytest.mark.parametrize(
    ("levels", "removal", "values", "behind"),
    [
        ((Level.C1, Level.C2), (), case(atlas_posterior_arch="closed", spina_bifida_c2="no"), True),
        ((Level.C1, Level.C2), (), case(atlas_posterior_arch="open", spina_bifida_c2="no"), False),
        ((Level.C1, Level.C2), (), case(spina_bifida_c2="no"), None),
        ((Level.C1, Level.C2), (Removal.C1_ARCH,), case(spina_bifida_c2="no"), False),
        ((Level.O, Level.C2), (Removal.C1_ARCH,), case(spina_bifida_c2="no"), True),
        ((Level.O, Level.C2), (Removal.C1_ARCH,), case(spina_bifida_c2="yes"), False),
        ((Level.O, Level.C2), (Removal.C1_ARCH, Removal.C2_LAMINA), {}, False),
        ((Level.O, Level.C3), (Removal.C1_ARCH, Removal.C2_LAMINA), {}, True),
        ((Level.O, Level.C2), (), case(c2_lamina_thickness_left_mm=4), True),
    ],
)
def test_the_graft_bed(
    levels: tuple[Level, Level], removal: tuple[Removal, ...], values: dict[str, object], behind: bool | None
) -> None:
    held = replace(plan(*levels), removal=removal)
    assert graft_bed(child(case(unstable_c1_c2="yes", **values)), held).behind is behind


def test_screws_in_an_assimilated_atlas_without_a_joint() -> None:
    joined = case(atlas_assimilation="partial", atlas_assimilation_side="right")
    held = plan(Level.C1, Level.C2, *C1_C2)
    found = named(held, {**joined, "c1c2_gap_rest_right_mm": "not_applicable"})
    assert "C1 right lateral mass screw" in found["assimilated_c1"].found
    assert named(held, {**joined, "c1c2_gap_rest_left_mm": "not_applicable"}) == {}
    assert named(held, {**joined, "c1c2_gap_rest_right_mm": 3}) == {}
    assert named(held, joined) == {}


@pytest.mark.parametrize(("height", "found"), [(9.0, False), (8.9, True), (None, False)])
def test_two_lamina_screws_need_height_for_two(height: float | None, found: bool) -> None:
    """Source: J Neurosurg Pediatr 2009;3:121-128: 9 mm for two screws of 3.5."""
    held = plan(Level.C1, Level.C2, *both(Level.C2, Kind.LAMINA_SCREW))
    assert ("two_laminae" in named(held, case(c2_lamina_height_mm=height))) is found
    alone = plan(Level.C1, Level.C2, anchor(Level.C2, LEFT, Kind.LAMINA_SCREW))
    assert "two_laminae" not in named(alone, case(c2_lamina_height_mm=height))


def test_two_thinner_lamina_screws_in_a_low_lamina() -> None:
    values = case(c2_lamina_height_mm=8.4)
    for diameter, found in ((3.0, False), (3.2, False), (3.5, True)):
        held = plan(Level.C1, Level.C2, *both(Level.C2, Kind.LAMINA_SCREW, diameter))
        assert ("two_laminae" in named(held, values)) is found


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (case(skull_thin_or_open="yes"), "a halo with a thin or open skull"),
        (case(shunt="left"), "a halo with a shunt under a pin"),
        (case(skull_thin_or_open="yes", shunt="both"), "a halo with a thin or open skull and a shunt under a pin"),
    ],
)
def test_a_halo_where_pins_cannot_go(values: dict[str, object], words: str) -> None:
    held = replace(plan(Level.C1, Level.C2, *C1_C2), support=Support.HALO)
    assert named(held, values)["halo_pins"].found == words
    assert named(replace(held, support=Support.RIGID), values) == {}
    assert named(held, case(skull_thin_or_open="no", shunt="none")) == {}


def test_a_screw_longer_than_its_path() -> None:
    long = Anchor(Level.C1, Side.RIGHT, Kind.LATERAL_MASS_SCREW, 3.5, 24.0)
    found = named(plan(Level.C1, Level.C2, long), case(c1_lm_length_right_mm=22))["longer_than_path"]
    assert found.found == "C1 right lateral mass screw: 24 mm long in a path of 22 mm"
    assert named(plan(Level.C1, Level.C2, long), case(c1_lm_length_right_mm=24)) == {}


def test_a_spacer_where_no_joint_bears_load() -> None:
    held = replace(plan(Level.C1, Level.C2, *both(Level.C2, Kind.PEDICLE_SCREW)), spacers=Spacers(5.0, 6.0))
    found = named(held, case(c1_lateral_mass_absent="left"))
    assert found["spacer_without_joint"].found == "a spacer on the left, where no joint bears load"
    assert named(held, {}) == {}


AGREE = {
    "absent_mass_measured": case(c1_lateral_mass_absent="right", c1_lm_width_right_mm=8),
    "absent_artery": case(artery_right="absent", artery_dominance="right"),
    "artery_imaging": case(artery_imaging="none", artery_left="usual"),
    "artery_courses": case(artery_course_left="absent", artery_left="usual"),
    "high_riding_side": case(
        artery_right="high_riding",
        artery_left="usual",
        c2_isthmus_height_right_mm=7,
        c2_internal_height_right_mm=5,
        c2_isthmus_height_left_mm=4,
    ),
    "small_condyle": case(condylar_hypoplasia="left", condyle_width_left_mm=9, condyle_width_right_mm=6),
    "assimilation_side": case(atlas_assimilation="none", atlas_assimilation_side="left"),
    "atlas_ring": case(atlas_ring="intact", atlas_posterior_arch="open", age_years=8),
    "reduction": case(reduces="awake", reduces_vertical="not_under_traction"),
}


@pytest.mark.parametrize("rule", AGREE)
def test_values_that_cannot_all_be_right_are_warnings(rule: str) -> None:
    found = disagreements(child(AGREE[rule]), read_limits())
    assert [finding.rule for finding in found] == [rule]
    assert found[0].severity is Severity.WARNING
    assert found[0].accepted


@pytest.mark.parametrize("rule", AGREE)
def test_the_same_values_on_the_other_side_are_found_too(rule: str) -> None:
    """Sides are treated alike: a mirrored child has the mirrored contradiction."""
    mirrored = {_mirror(name): _mirror(held) if isinstance(held, str) else held for name, held in AGREE[rule].items()}
    assert [finding.rule for finding in disagreements(child(mirrored), read_limits())] == [rule]


def _mirror(held: str) -> str:
    return held.replace("right", "@").replace("left", "right").replace("@", "left")


@pytest.mark.parametrize(
    "values",
    [
        {},
        case(c1_lateral_mass_absent="right", c1_lm_width_right_mm=2, c1_lm_width_left_mm=8),
        case(c1_lateral_mass_absent="right", c1_lm_width_right_mm="not_applicable"),
        case(artery_right="absent", artery_left="usual", artery_dominance="single_left", artery_imaging="cta"),
        case(artery_right="high_riding", artery_left="usual", c2_isthmus_height_right_mm=4),
        case(artery_course_right="absent", artery_right="not_imaged"),
        case(condylar_hypoplasia="left", condyle_width_left_mm=5, condyle_width_right_mm=9),
        case(atlas_assimilation="partial", atlas_assimilation_side="left"),
        case(atlas_ring="intact", atlas_posterior_arch="open", age_years=3),
        case(atlas_ring="both_open", atlas_posterior_arch="open", atlas_anterior_arch="open", age_years=14),
        case(reduces="not_under_traction", reduces_vertical="awake"),
    ],
)
def test_values_that_agree_are_left_alone(values: dict[str, object]) -> None:
    assert disagreements(child(values), read_limits()) == ()


def test_a_negative_width_is_named_and_the_rest_stands() -> None:
    values = case(c2_pedicle_width_right_mm=-4.6, c2_pedicle_width_left_mm=4.4)
    held, findings = child_of(values, dictionary(), case_id="X-001")
    (finding,) = findings
    assert "column c2_pedicle_width_right_mm: found -4.6; accepted: a number from 0 to 20 mm" in str(finding)
    assert held.number("c2_pedicle_width_right_mm") is None
    assert held.number("c2_pedicle_width_left_mm") == 4.4
