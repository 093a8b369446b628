"""Any child and any plan, drawn by a seed: lengths near the borders of the limits, codes, anchors, measured paths.

Drawn dense, most of the bone known and most plans with several anchors: what single values do is tested elsewhere.
"""

from collections.abc import Sequence
from dataclasses import replace
from random import Random
from typing import Any

from riskmodel import dictionary as dictionaries
from riskmodel.plans import Corridor, Plan, child_of, read_limits, read_stock
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.plan import Anchor, Spacers
from riskmodel.plans.sites import Ground
from riskmodel.plans.words import LEVELS, SIDES, Fit, JointsPrepared, Kind, Level, Removal, Side, Support
from tests.properties import seeded

Values = dict[str, Any]
WORDS = dictionaries.read("cvj")


def _both(*patterns: str) -> tuple[str, ...]:
    return tuple(pattern.format(side.value) for pattern in patterns for side in SIDES)


# A shorter one of these is never better for any anchor.
BONE = (
    *_both("c1_lm_width_{}_mm", "c1_lm_height_{}_mm", "c1_arch_height_{}_mm", "c2_pedicle_width_{}_mm"),
    *_both("c2_pedicle_height_{}_mm", "c2_pars_width_{}_mm", "c2_lamina_thickness_{}_mm", "c1c2_path_{}_mm"),
    *_both("condyle_width_{}_mm", "condyle_height_{}_mm"),
    *("occipital_keel_mm", "occipital_paramedian_mm", "c2_lamina_height_mm"),
)
# The same of what lies around the bone that holds the screw.
AROUND = (
    *_both("c2_isthmus_height_{}_mm", "c2_internal_height_{}_mm", "c2_pars_length_{}_mm"),
    *("occipital_bone_left_mm", "padi_mm"),
)
CODED = (
    *("atlas_posterior_arch", "atlas_ring", "reduces", "spina_bifida_c2", "c1_lateral_mass_absent", "shunt"),
    *("artery_right", "artery_left", "artery_course_right", "artery_course_left", "artery_dominance"),
    *("carotid_medial", "hypoglossal_canal_right", "hypoglossal_canal_left", "condylar_hypoplasia"),
    *("atlas_assimilation", "atlas_assimilation_side", "prior_posterior_decompression", "drill_line_clears_back"),
    *("unstable_o_c1", "unstable_c1_c2", "unstable_below_c2", "skull_thin_or_open", "c1c2_pseudoarticulation"),
)
RANK = {Fit.NOT: 0, Fit.BARELY: 1, Fit.FITS: 2, Fit.WITH_ROOM: 3}


# Where the limits lie, in mm; elsewhere about the usual screw.
_NEAR = {
    "condyle": (5.0, 10.0),
    "occipital_keel": (4.0, 10.0),
    "occipital_paramedian": (4.0, 10.0),
    "occipital_bone": (10.0, 20.0),
    "c2_lamina_height": (6.0, 12.0),
    "c2_pars_length": (6.0, 14.0),
    "c2_isthmus": (3.0, 7.0),
    "c2_internal": (1.0, 4.0),
    "padi": (8.0, 18.0),
}
_SCREW = (2.4, 6.0)


def length(random: Random, name: str = "") -> float:
    """A length in tenths of a millimetre, near the limits of what it is of."""
    low, high = next((span for start, span in _NEAR.items() if name.startswith(start)), _SCREW)
    return round(random.uniform(low, high), 1)


def _child(random: Random) -> Values:
    bone = {name: length(random, name) for name in (*BONE, *AROUND) if random.random() < 0.8}
    codes = {name: _code(random, name) for name in CODED if random.random() < 0.3}
    return {**bone, **codes, **({"ct_slice_mm": 2.0} if random.random() < 0.1 else {})}


def _code(random: Random, name: str) -> str:
    variable = WORDS.variables[name]
    return random.choice((*(variable.codes or ("no", "yes")), *variable.states))


def _anchor(random: Random, levels: Sequence[Level]) -> Anchor:
    kind = random.choice([kind for kind in Kind if set(kind.levels) & set(levels)])
    level = random.choice([level for level in kind.levels if level in levels])
    sizes = (random.choice((None, 2.7, 3.5, 4.0)), random.choice((None, 6.0, 14.0, 30.0)))
    return Anchor(level, random.choice(kind.sides), kind, *(sizes if kind.screw else (None, None)))


def distinct_anchors(random: Random, levels: Sequence[Level], most: int) -> tuple[Anchor, ...]:
    """Some anchors at these levels, half of them on both sides, none at the place of another."""
    held = [_anchor(random, levels) for _ in range(random.randint(0, most))]
    held += [replace(anchor, side=other_side(anchor.side)) for anchor in held if random.random() < 0.5]
    return tuple({(anchor.level, anchor.side, anchor.kind): anchor for anchor in held}.values())


def _plan(random: Random) -> Plan:
    upper, lower = random.choice((Level.O, Level.C1)), random.choice((Level.C2, Level.C3))
    held = distinct_anchors(random, LEVELS[upper.index : lower.index + 1], 8)
    return replace(
        Plan("A", "", upper, lower, random.choice((0, 1, 2)), random.random() < 0.5, held),
        removal=random.choice((None, (), tuple(random.sample(tuple(Removal), 2)))),
        spacers=Spacers(random.choice((None, 5.0)), random.choice((None, 6.0))),
        support=random.choice((None, *Support)),
        joints_prepared=random.choice((None, *JointsPrepared)),
        occipital_bone_left_mm=random.choice((None, 8.0, 20.0)),
    )


def _paths(random: Random) -> tuple[Corridor, ...]:
    held = distinct_anchors(random, LEVELS[:4], 4)
    return tuple(_path(random, anchor) for anchor in held if anchor.kind is not Kind.BAND)


def _path(random: Random, anchor: Anchor) -> Corridor:
    width, height, long = (length(random) if random.random() < 0.7 else None for _ in range(3))
    return Corridor(anchor.kind, anchor.level, anchor.side, width, height, long, reduced=random.random() < 0.5)


CHILDREN, PLANS, PATHS = seeded(_child), seeded(_plan), seeded(_paths)


def ground(values: Values, paths: Sequence[Corridor] = ()) -> Ground:
    """The child on the shipped limits and stock; codes that contradict each other stay as they are."""
    held, _ = child_of(values, WORDS, case_id="X-001", corridors=tuple(paths))
    return Ground(held, read_limits(), read_stock())


def planned(on: Ground, plan: Plan) -> tuple[AnchorFit, ...]:
    """The anchors of a plan, each as it fits."""
    return tuple(on.fit_planned(anchor, plan) for anchor in plan.anchors)


def no_better(fit: Fit, than: Fit) -> bool:
    """Whether a class is the same or a lower one; what is not measured may turn out not to fit, never to fit."""
    if Fit.UNKNOWN in (fit, than):
        return fit is than or (than is Fit.UNKNOWN and fit is Fit.NOT)
    return RANK[fit] <= RANK[than]


def other_side(side: Side) -> Side:
    """The child's other side; the midline is its own."""
    return {Side.RIGHT: Side.LEFT, Side.LEFT: Side.RIGHT}.get(side, side)
