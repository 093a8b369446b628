"""What is known of the way of an anchor, by its kind."""

from collections.abc import Callable
from dataclasses import replace

from riskmodel.anatomy.amounts import at_least
from riskmodel.anatomy.arches import Arch
from riskmodel.plans.atlas import arch_state
from riskmodel.plans.fitting import Cap, Path
from riskmodel.plans.occiput import condyle_path, occiput_path
from riskmodel.plans.screws import screw_path
from riskmodel.plans.telling import mm
from riskmodel.plans.where import (
    WIDTHS,
    Where,
    bone_behind_caps,
    known_or_asked,
    no_bone,
    row_dimensions,
    row_notes,
    rows_of,
    variables,
)
from riskmodel.plans.words import Because, Fit, Kind, Level


def path_of(where: Where) -> Path:
    """What is known of the way of one anchor."""
    path = _BY_KIND.get(where.kind, screw_path)(where)
    slices = where.child.number("ct_slice_mm")
    limit = where.limits.value("slice_mm")
    if slices is not None and not at_least(limit, slices):
        says = f"CT slices of {mm(slices)}: at best fits barely"
        path = replace(path, caps=(*path.caps, Cap(Fit.BARELY, Because.SLICES, says)))
    return path


def _half(where: Where) -> Path:
    """A hook, wire or band: an arch or lamina that is whole and thick enough."""
    limit = where.limits["hook_mm"]
    pattern = WIDTHS.get((where.kind, where.level), ())
    names = [name for part in pattern for name in where.named(part)]
    rows = rows_of(where)
    # In the midline both sides hold it, and neither comes first: one that was not measured leaves the class open.
    sides = sorted(variables(where.child, names), key=lambda part: part.value_mm is not None)
    held = [*sides, *row_dimensions(rows)]
    unknown_arch = where.level is Level.C1 and arch_state(where.child, Arch.POSTERIOR) is None
    return Path(
        dimensions=known_or_asked([replace(part, least_mm=limit.value) for part in held]),
        steps=((0.0, Fit.FITS),),
        limit=limit,
        short_of=Because.THIN,
        caps=tuple(bone_behind_caps(where)),
        no_bone=no_bone(where, names, rows),
        questions=(where.child.variables["atlas_posterior_arch"].label,) if unknown_arch else (),
        notes=row_notes(rows),
    )


_BY_KIND: dict[Kind, Callable[[Where], Path]] = {
    Kind.MIDLINE_SCREW: occiput_path,
    Kind.PARAMEDIAN_SCREW: occiput_path,
    Kind.CONDYLE_SCREW: condyle_path,
    Kind.HOOK: _half,
    Kind.WIRE: _half,
    Kind.BAND: _half,
}
