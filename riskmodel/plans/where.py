"""Where an anchor would go: the rows and variables that measure its way, and bone that is open or removed."""

from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.anatomy.arches import Arch
from riskmodel.cases.table import State
from riskmodel.plans.atlas import arch_state, mass_absent
from riskmodel.plans.child import Child
from riskmodel.plans.corridors import Corridor
from riskmodel.plans.fitting import Cap, Dimension
from riskmodel.plans.limits import Limits
from riskmodel.plans.plan import Plan
from riskmodel.plans.words import HALF_KINDS, SIDES, Because, Fit, Kind, Level, Removal, Side

_LENGTHS = {
    (Kind.LATERAL_MASS_SCREW, Level.C1): "c1_lm_length_{side}_mm",
    (Kind.PARS_SCREW, Level.C2): "c2_pars_length_{side}_mm",
}
# Variables whose narrowest decides, beside a row of `corridors`.
WIDTHS = {
    (Kind.LATERAL_MASS_SCREW, Level.C1): ("c1_lm_width_{side}_mm",),
    (Kind.ARCH_SCREW, Level.C1): ("c1_arch_height_{side}_mm", "c1_lm_width_{side}_mm"),
    (Kind.PEDICLE_SCREW, Level.C2): ("c2_pedicle_width_{side}_mm", "c2_pedicle_height_{side}_mm"),
    (Kind.PARS_SCREW, Level.C2): ("c2_pars_width_{side}_mm",),
    (Kind.LAMINA_SCREW, Level.C2): ("c2_lamina_thickness_{side}_mm",),
    (Kind.TRANSARTICULAR_SCREW, Level.C2): ("c1c2_path_{side}_mm",),
    (Kind.HOOK, Level.C2): ("c2_lamina_thickness_{side}_mm",),
    (Kind.WIRE, Level.C2): ("c2_lamina_thickness_{side}_mm",),
    (Kind.BAND, Level.C2): ("c2_lamina_thickness_{side}_mm",),
}
WIDTH = "path: narrowest width"
_NEED_C1_MASS = (Kind.ARCH_SCREW, Kind.TRANSARTICULAR_SCREW)
# Anchors that hold on bone behind, which may be open or removed.
_BEHIND = (Kind.ARCH_SCREW, Kind.LAMINA_SCREW, *HALF_KINDS)


@dataclass(frozen=True, slots=True)
class Where:
    """One anchor of one child; `plan` where it belongs to one, since a plan may take the bone away."""

    child: Child
    limits: Limits
    level: Level
    side: Side
    kind: Kind
    plan: Plan | None = None

    def named(self, pattern: str) -> tuple[str, ...]:
        """The variables of a pattern with {side}: one, or both for the midline."""
        sides = SIDES if self.side is Side.MIDLINE else (self.side,)
        return tuple(dict.fromkeys(pattern.format(side=side.value) for side in sides))

    def removes(self, removal: Removal) -> bool:
        """Whether the plan removes this bone."""
        return self.plan is not None and self.plan.removes(removal)


def variables(child: Child, names: list[str]) -> Iterator[Dimension]:
    """The measured variables as dimensions held against the screw."""
    for name in names:
        yield Dimension(child.variables[name].label, child.number(name))


def row_dimensions(rows: tuple[Corridor, ...]) -> Iterator[Dimension]:
    """Width, and height where it was measured, of measured paths."""
    for row in rows:
        yield Dimension(WIDTH, row.width_mm)
        if row.height_mm is not None:
            yield Dimension("path: height", row.height_mm)


def known_or_asked(dimensions: list[Dimension]) -> tuple[Dimension, ...]:
    """The dimensions; a site that has none at all asks for a measured path, a measured path asks for nothing more."""
    if any(part.label == WIDTH and part.value_mm is not None for part in dimensions):
        dimensions = [part for part in dimensions if part.value_mm is not None]
    return tuple(dimensions) or (Dimension(WIDTH, None),)


def rows_of(where: Where) -> tuple[Corridor, ...]:
    """The measured paths of an anchor."""
    return tuple(row for row in where.child.corridors if row.is_for(where.kind, where.level, where.side))


def row_notes(rows: tuple[Corridor, ...]) -> tuple[str, ...]:
    """What to know of how paths were measured."""
    return ("path measured before reduction",) if any(row.reduced is False for row in rows) else ()


def no_bone(where: Where, names: list[str], rows: tuple[Corridor, ...]) -> bool:
    """Whether bone is recorded as absent; "not applicable" says so of the side, "not measurable" does not."""
    if any(where.child.state(name) is State.NOT_APPLICABLE for name in names) or any(row.no_bone for row in rows):
        return True
    on_mass = where.kind in _NEED_C1_MASS or (where.kind is Kind.LATERAL_MASS_SCREW and where.level is Level.C1)
    return on_mass and mass_absent(where.child, where.side)


def length_mm(where: Where, rows: tuple[Corridor, ...]) -> float | None:
    """Measured length of the way, in mm."""
    pattern = _LENGTHS.get((where.kind, where.level))
    own = [where.child.number(name) for name in where.named(pattern)] if pattern else []
    return min((length for length in (*own, *(row.length_mm for row in rows)) if length is not None), default=None)


def bone_behind_caps(where: Where) -> Iterator[Cap]:
    """Bone behind that is open, or removed: no anchor that needs it."""
    if where.kind not in _BEHIND:
        return
    if where.level is Level.C1:
        state = arch_state(where.child, Arch.POSTERIOR)
        if state is not None and state.broken:
            yield Cap(Fit.NOT, Because.ARCH_OPEN, f"posterior arch of C1 {state.value}")
        if where.child.code("prior_posterior_decompression") in ("c1_arch", "both"):
            yield Cap(Fit.NOT, Because.REMOVED_EARLIER, "posterior arch of C1 removed earlier")
    if where.level is Level.C2 and where.child.code("spina_bifida_c2") == "yes":
        yield Cap(Fit.NOT, Because.LAMINA_OPEN, "lamina of C2 open")
    removal = {Level.C1: Removal.C1_ARCH, Level.C2: Removal.C2_LAMINA}.get(where.level, Removal.BELOW_C2)
    if where.removes(removal):
        yield Cap(Fit.NOT, Because.REMOVED_HERE, f"{removal.label} removed in this plan")
