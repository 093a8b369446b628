"""What will make it heal: bone behind for a graft, and joints."""

from collections.abc import Iterable
from dataclasses import dataclass

from riskmodel.anatomy.arches import Arch
from riskmodel.plans.atlas import arch_state
from riskmodel.plans.child import Child
from riskmodel.plans.ends import unstable_segment
from riskmodel.plans.plan import Plan
from riskmodel.plans.words import LEVELS, SIDES, JointsPrepared, Level, Removal


@dataclass(frozen=True, slots=True)
class GraftBed:
    """Bone behind on each side of the unstable segment after everything that the plan removes, and prepared joints.

    None where it is not known. A spacer counts as a prepared joint.
    """

    above: bool | None
    below: bool | None
    joints: bool | None

    @property
    def behind(self) -> bool | None:
        """Whether a graft can bridge the unstable segment behind."""
        return _all((self.above, self.below))

    @property
    def nothing_can_fuse(self) -> bool:
        """Whether neither bone behind nor a prepared joint is left, as far as the plan and the images say."""
        return self.behind is False and self.joints is False

    @property
    def words(self) -> str:
        """In words."""
        behind = {True: "bone behind on both sides of the unstable segment", None: "bone behind: not known"}
        joints = {True: "joints prepared", False: "joints not prepared", None: "joints: the plan does not say"}
        return f"{behind.get(self.behind, 'no bone behind to graft on')}; {joints[self.joints]}"


def graft_bed(child: Child, plan: Plan) -> GraftBed:
    """What is left to graft on."""
    segment = unstable_segment(child, plan)
    above = [bone_behind(child, plan, level) for level in LEVELS[plan.upper.index : segment.above.index + 1]]
    below = [bone_behind(child, plan, level) for level in LEVELS[segment.below.index : plan.lower.index + 1]]
    return GraftBed(_any(above), _any(below), _joints(plan))


def bone_behind(child: Child, plan: Plan, level: Level) -> bool | None:
    """Whether the bone behind of a level can carry a graft; None where it is not known."""
    if level is Level.O:
        return True
    if level is Level.C1:
        return _c1(child, plan)
    if level is Level.C2:
        return _c2(child, plan)
    return not plan.removes(Removal.BELOW_C2)


def _c1(child: Child, plan: Plan) -> bool | None:
    earlier = child.code("prior_posterior_decompression")
    if plan.removes(Removal.C1_ARCH) or earlier in ("c1_arch", "both"):
        return False
    state = arch_state(child, Arch.POSTERIOR)
    return None if state is None else not state.broken


def _c2(child: Child, plan: Plan) -> bool | None:
    if plan.removes(Removal.C2_LAMINA):
        return False
    open_lamina = child.code("spina_bifida_c2")
    seen = any(child.number(f"c2_lamina_thickness_{side.value}_mm") is not None for side in SIDES)
    return (True if seen else None) if open_lamina is None else open_lamina == "no"


def _joints(plan: Plan) -> bool | None:
    if plan.spacers.planned:
        return True
    return None if plan.joints_prepared is None else plan.joints_prepared is not JointsPrepared.NONE


def _any(parts: Iterable[bool | None]) -> bool | None:
    held = list(parts)
    return True if True in held else None if None in held else False


def _all(parts: Iterable[bool | None]) -> bool | None:
    held = list(parts)
    return False if False in held else None if None in held else True
