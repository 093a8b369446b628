"""The way of a screw whose narrowest dimension is held against its diameter."""

from collections.abc import Iterator

from riskmodel.anatomy.amounts import at_least
from riskmodel.anatomy.arches import Arch
from riskmodel.cases.table import State
from riskmodel.plans import vessels
from riskmodel.plans.atlas import arch_state
from riskmodel.plans.child import Child
from riskmodel.plans.fitting import Cap, Path, screw_steps
from riskmodel.plans.limits import Limits
from riskmodel.plans.telling import mm
from riskmodel.plans.where import (
    WIDTHS,
    Where,
    bone_behind_caps,
    known_or_asked,
    length_mm,
    no_bone,
    row_dimensions,
    row_notes,
    rows_of,
    variables,
)
from riskmodel.plans.words import Because, Fit, Kind, Level

# From screw axis to groove or from wall to wall: the artery bears on these.
_BY_THE_ARTERY = (Kind.PEDICLE_SCREW, Kind.PARS_SCREW, Kind.TRANSARTICULAR_SCREW, Kind.OCCIPUT_TRANSARTICULAR_SCREW)


def screw_path(where: Where) -> Path:
    """A screw whose narrowest dimension is held against its diameter."""
    rows = rows_of(where)
    patterns = WIDTHS.get((where.kind, where.level), ())
    names = [name for pattern in patterns for name in where.named(pattern)]
    dimensions = [*variables(where.child, names), *row_dimensions(rows)]
    return Path(
        dimensions=known_or_asked(dimensions),
        steps=screw_steps(where.limits),
        limit=where.limits["margin_fits_mm"],
        caps=tuple(_screw_caps(where)),
        no_bone=no_bone(where, names, rows),
        questions=tuple(_screw_questions(where)),
        entry_question=tuple(_entry_question(where)),
        notes=(
            *row_notes(rows),
            *_kind_notes(where),
            *vessels.notes(where.child, where.kind, where.level, where.side, where.limits),
        ),
        length_mm=length_mm(where, rows),
    )


def _screw_caps(where: Where) -> Iterator[Cap]:
    yield from bone_behind_caps(where)
    if where.kind is Kind.LATERAL_MASS_SCREW and where.level is Level.C1:
        yield from _entry_caps(where)
    if where.kind in _BY_THE_ARTERY and where.level is Level.C2:
        yield from vessels.c2_caps(where.child, where.side, where.limits)
    if where.kind is Kind.PARS_SCREW:
        yield from _pars_caps(where)
    if where.kind is Kind.TRANSARTICULAR_SCREW:
        yield from _transarticular_caps(where)
    if where.kind is Kind.ARCH_SCREW and where.child.code(f"artery_course_{where.side.value}") == "bony_bridge":
        says = "a bony bridge lies over the artery: measure the arch itself"
        yield Cap(Fit.BARELY, Because.BRIDGE, says)


def _entry_caps(where: Where) -> Iterator[Cap]:
    """A low entry alone never rules a C1 screw out; an artery over the entry does."""
    (name,) = where.named("c1_lm_height_{side}_mm")
    height = where.child.number(name)
    if height is not None:
        says = f"entry {mm(height)} high: undercut the arch or move the C2 root"
        yield Cap(Fit.BARELY, Because.ENTRY_LOW, says, over_mm=height)
    if where.child.code(f"artery_{where.side.value}") == "over_c1_entry":
        yield Cap(Fit.NOT, Because.ARTERY, "the artery lies over the entry")


def _pars_caps(where: Where) -> Iterator[Cap]:
    length, least = length_mm(where, rows_of(where)), where.limits.value("pars_length_mm")
    if length is not None and not at_least(length, least):
        yield Cap(Fit.NOT, Because.SHORT, f"{mm(length)} to the groove of the artery; {mm(least)} are asked for")


def _transarticular_caps(where: Where) -> Iterator[Cap]:
    if where.child.code("reduces") == "not_under_traction":
        yield Cap(Fit.NOT, Because.NOT_REDUCED, "the joint does not reduce: a screw across it would fix it displaced")
    if where.child.code("drill_line_clears_back") == "no":
        yield Cap(Fit.NOT, Because.DRILL_LINE, "the line of the drill does not clear the back")


def _screw_questions(where: Where) -> Iterator[str]:
    """What is not known and could lower the class."""
    child = where.child
    if where.kind is Kind.PARS_SCREW and length_mm(where, rows_of(where)) is None:
        yield from _unknown(child, where.named("c2_pars_length_{side}_mm"))
    if where.kind is Kind.TRANSARTICULAR_SCREW:
        yield from _unknown(child, ("reduces", "drill_line_clears_back"))
    if where.kind is Kind.ARCH_SCREW and arch_state(child, Arch.POSTERIOR) is None:
        yield child.variables["atlas_posterior_arch"].label


def _entry_question(where: Where) -> Iterator[str]:
    if where.kind is Kind.LATERAL_MASS_SCREW and where.level is Level.C1:
        yield from _unknown(where.child, where.named("c1_lm_height_{side}_mm"))


def _unknown(child: Child, names: tuple[str, ...]) -> Iterator[str]:
    yield from (child.variables[name].label for name in names if child.state(name) is not State.PRESENT)


def _kind_notes(where: Where) -> Iterator[str]:
    if where.kind is Kind.PARS_SCREW and vessels.high_riding(where.child, where.side, where.limits):
        yield "a short screw only"
    if where.kind is Kind.LAMINA_SCREW:
        yield from _lamina_notes(where)


def _lamina_notes(where: Where) -> Iterator[str]:
    if where.child.code("c2_lamina_cortex") in (None, "not_stated"):
        yield "outer or inner cortex not stated: published rates differ by it"
    two = thickest_for_two_laminae_mm(where.child, where.limits)
    if two is not None:
        yield f"height for two crossing screws up to {mm(two)}"


def thickest_for_two_laminae_mm(child: Child, limits: Limits) -> float | None:
    """The thickest screw that may lie in both C2 laminae, by the height: height = twice the screw and 2 mm.

    9.0 mm gives 3.5 (Chern et al., J Neurosurg Pediatr 2009;3:121-128); the formula is an own proposal.
    """
    height = child.number("c2_lamina_height_mm")
    return None if height is None else max((height - limits.value("two_laminae_extra_mm")) / 2.0, 0.0)
