"""The way of screws in the occiput and its condyles: what the bone must reach, and what is left of it."""

from collections.abc import Iterator

from riskmodel.anatomy.amounts import at_least
from riskmodel.cases.table import State
from riskmodel.plans import vessels
from riskmodel.plans.atlas import sides_of
from riskmodel.plans.fitting import Cap, Dimension, Path
from riskmodel.plans.limits import Limit
from riskmodel.plans.telling import mm
from riskmodel.plans.where import Where, length_mm, no_bone, rows_of
from riskmodel.plans.words import Because, Fit, Kind, Removal


def occiput_path(where: Where) -> Path:
    """Screws in the occiput: the thickness of the bone decides, and what bone is left."""
    midline = where.kind is Kind.MIDLINE_SCREW
    limit = where.limits["keel_mm" if midline else "paramedian_mm"]
    name = "occipital_keel_mm" if midline else "occipital_paramedian_mm"
    room = where.limits.value("keel_room_mm") - where.limits.value("keel_mm")
    rows = rows_of(where)
    thickness = _least(where.child.number(name), *(row.width_mm for row in rows))
    return Path(
        dimensions=(Dimension(where.child.variables[name].label, thickness, limit.value),),
        steps=((room, Fit.WITH_ROOM), (0.0, Fit.FITS)),
        limit=limit,
        short_of=Because.THIN,
        caps=tuple(_bone_left_caps(where)),
        no_bone=no_bone(where, [name], rows),
        questions=tuple(_bone_left_questions(where)),
        notes=vessels.occipital_notes(where.child),
        length_mm=thickness,
    )


def _bone_left_caps(where: Where) -> Iterator[Cap]:
    least = where.limits.value("occipital_bone_left_mm")
    planned = where.plan.occipital_bone_left_mm if where.plan else None
    for left, because, what in (
        (where.child.number("occipital_bone_left_mm"), Because.REMOVED_EARLIER, "an earlier removal"),
        (planned, Because.REMOVED_HERE, "the planned removal"),
    ):
        if left is not None and not at_least(left, least):
            yield Cap(Fit.NOT, because, f"{mm(left)} of bone left above {what}; {mm(least)} are asked for")


def _bone_left_questions(where: Where) -> Iterator[str]:
    child = where.child
    known = child.state("occipital_bone_left_mm") in (State.PRESENT, State.NOT_APPLICABLE)
    earlier = child.code("prior_posterior_decompression")
    if not known and earlier not in ("none", "c1_arch") and child.number("prior_cvj_surgery") != 0:
        yield child.variables["occipital_bone_left_mm"].label
    if where.removes(Removal.FORAMEN_MAGNUM) and (where.plan is None or where.plan.occipital_bone_left_mm is None):
        yield "bone left above the planned removal"


def condyle_path(where: Where) -> Path:
    """A condyle screw: width and height against what a 3.5 screw was found to need."""
    width, height = (where.limits[name] for name in ("condyle_width_mm", "condyle_height_mm"))
    names = [*where.named("condyle_width_{side}_mm"), *where.named("condyle_height_{side}_mm")]
    rows = rows_of(where)
    measured = ([row.width_mm for row in rows], [row.height_mm for row in rows])
    dimensions = [
        Dimension(where.child.variables[name].label, _least(where.child.number(name), *more), limit.value)
        for name, more, limit in zip(names, measured, (width, height), strict=True)
    ]
    nerve = where.child.code(f"hypoglossal_canal_{where.side.value}")
    in_path = Cap(Fit.NOT, Because.NERVE, "the hypoglossal canal lies in the path")
    small = where.side in (sides_of(where.child, "condylar_hypoplasia") or ())
    return Path(
        dimensions=tuple(dimensions),
        steps=((0.0, Fit.FITS),),
        limit=_deciding(tuple(dimensions), width, height),
        caps=(in_path,) if nerve == "in_path" else (),
        no_bone=no_bone(where, names, rows),
        questions=() if nerve in ("clear", "in_path") else ("hypoglossal canal in the path",),
        notes=("condyle recorded as small or flat",) if small else (),
        length_mm=length_mm(where, rows),
        thickest_mm=where.limits.value("screw_mm"),
    )


def _deciding(dimensions: tuple[Dimension, ...], width: Limit, height: Limit) -> Limit:
    """The limit that leaves the smaller margin."""
    across, upward = (part.margin_mm(0.0) for part in dimensions)
    return height if across is not None and upward is not None and upward < across else width


def _least(*values: float | None) -> float | None:
    """The least of what was measured."""
    return min((value for value in values if value is not None), default=None)
