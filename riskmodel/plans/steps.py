"""The seven steps of the conference: what was measured, what is not known, what to think of, what was decided."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from riskmodel.anatomy.arches import Arch
from riskmodel.anatomy.craniometry import Comparison, Image, compared
from riskmodel.cases.table import State
from riskmodel.dictionary.model import Kind
from riskmodel.plans.atlas import arch_state, arch_words
from riskmodel.plans.child import Child
from riskmodel.plans.situations import Prompt
from riskmodel.plans.words import Step

# What each step asks of every child; what is not known of these is said.
_ASKED: Mapping[Step, tuple[str, ...]] = {
    Step.INSTABILITY: (
        "indication",
        "urgency",
        "unstable_o_c1",
        "unstable_c1_c2",
        "unstable_below_c2",
        "nurick_grade",
        "adi_mm",
    ),
    Step.REDUCTION: ("reduces", "reduction_tested_by", "neck_position_safe"),
    Step.CORD: ("padi_mm", "cord_signal", "clivo_axial_angle_deg"),
    Step.LEVELS: ("atlas_assimilation", "c2_c3_fusion"),
    Step.ANCHORS: ("ct_slice_mm", "artery_imaging", "artery_right", "artery_left"),
    Step.HEALING: ("bone_density_z",),
    Step.RESCUE: (),
}
# What is told where it is known.
_MORE: Mapping[Step, tuple[str, ...]] = {
    Step.INSTABILITY: (
        "adi_flex_mm",
        "adi_ext_mm",
        "os_odontoideum",
        "odontoid_hypoplasia",
        "bdi_mm",
        "bai_mm",
        "cci_right_mm",
        "cci_left_mm",
        "powers_ratio",
        "torticollis_fixed",
        "involuntary_movements",
    ),
    Step.REDUCTION: (
        "reduces_horizontal",
        "reduces_vertical",
        "clivo_axial_angle_reduced_deg",
        "c1c2_gap_rest_right_mm",
        "c1c2_gap_rest_left_mm",
        "c1c2_gap_traction_right_mm",
        "c1c2_gap_traction_left_mm",
        "c1c2_facet_sag_angle_right_deg",
        "c1c2_facet_sag_angle_left_deg",
        "c1c2_pseudoarticulation",
    ),
    Step.CORD: (
        "sac_c1_c4_ratio",
        "c1_inclination_deg",
        "cord_diameter_mm",
        "dura_to_basion_c2_line_mm",
        "chamberlain_mm",
        "mcgregor_mm",
        "mcrae_mm",
        "wackenheim_relation",
        "ranawat_c1c2_mm",
        "basal_angle_deg",
        "hydrocephalus_or_chiari",
        "prior_posterior_decompression",
    ),
    Step.LEVELS: (
        "atlas_assimilation_side",
        "kf_pattern",
        "c1_lateral_mass_absent",
        "condylar_hypoplasia",
        "o_c2_angle_deg",
        "c2_c7_angle_deg",
        "kyphosis_apex_level",
    ),
    Step.ANCHORS: (
        "artery_course_right",
        "artery_course_left",
        "artery_dominance",
        "carotid_medial",
        "occipital_sinus",
        "spina_bifida_c2",
        "occipital_bone_left_mm",
    ),
    Step.HEALING: (
        "long_term_steroid",
        "bisphosphonate",
        "low_weight_for_age",
        "fragility_fractures",
        "cannot_keep_brace",
        "skull_thin_or_open",
        "shunt",
    ),
    Step.RESCUE: (),
}


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing known: label and words; for a line or angle what is published beside it.

    `plan`: the name of the plan that it belongs to, empty where it belongs to the child.
    """

    label: str
    says: str
    comparisons: tuple[Comparison, ...] = ()
    plan: str = ""


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. An open step hides nothing; `decided` is a typed line and may be empty."""

    step: Step
    measured: tuple[Fact, ...]
    not_known: tuple[str, ...]
    prompts: tuple[Prompt, ...]
    decided: str


def step_views(
    child: Child, prompts: Sequence[Prompt], of_plans: Mapping[Step, Sequence[Fact]], decided: Mapping[Step, str]
) -> tuple[StepView, ...]:
    """The seven steps; `of_plans` are facts about the plans, which come after those about the child."""
    return tuple(
        StepView(
            step=step,
            measured=(*_measured(child, step), *of_plans.get(step, ())),
            not_known=tuple(_not_known(child, step)),
            prompts=tuple(prompt for prompt in prompts if prompt.step is step),
            decided=decided.get(step, ""),
        )
        for step in Step
    )


def _measured(child: Child, step: Step) -> Iterator[Fact]:
    if step is Step.ANCHORS:
        yield from (_arch(child, arch) for arch in Arch if arch_state(child, arch) is not None)
    for name in (*_ASKED[step], *_MORE[step]):
        if child.state(name) in (State.PRESENT, State.NOT_APPLICABLE):
            yield Fact(child.variables[name].label, child.words(name), _beside(child, name))


def _arch(child: Child, arch: Arch) -> Fact:
    return Fact("Atlas", arch_words(child, arch))


def _not_known(child: Child, step: Step) -> Iterator[str]:
    """What the step asks and nobody recorded, or what a word says was not found out."""
    if step is Step.ANCHORS:
        yield from (f"{arch.value} arch of C1" for arch in Arch if arch_state(child, arch) is None)
    for name in _ASKED[step]:
        state = child.state(name)
        if state in (State.MISSING, State.NOT_TESTED, State.NOT_MEASURABLE):
            words = "" if state is State.MISSING else f": {child.words(name)}"
            yield f"{child.variables[name].label}{words}"


def _beside(child: Child, name: str) -> tuple[Comparison, ...]:
    """What is published beside a line or an angle."""
    value = child.number(name)
    if value is None or child.variables[name].kind is not Kind.NUMBER:
        return ()
    image = Image(child.code("craniometry_modality"), child.code("craniometry_position"))
    given = {"os_terminale_ossified": child.code("os_terminale_ossified")}
    return compared(name, value, age_years=child.number("age_years"), image=image, given=given)
