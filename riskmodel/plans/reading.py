"""Reading a plans file. A faulty anchor or plan is named and left out; the rest stands."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from riskmodel.dictionary.fields import Fields, any_of, shown
from riskmodel.errors import Finding, PlanRefused
from riskmodel.plans.files import opened, taken
from riskmodel.plans.plan import NO_SPACERS, Anchor, Plan, PlansFile, Spacers
from riskmodel.plans.words import Graft, GraftHold, JointsPrepared, Kind, Level, Place, Removal, Side, Step, Support

# What can be true of a screw, a spacer and bone left, in mm: as the dictionary has it, but a spacer of 0 is none.
DIAMETER_MM = (1.0, 8.0)
LENGTH_MM = (2.0, 80.0)
SPACER_MM = (0.5, 25.0)
BONE_LEFT_MM = (0.0, 80.0)
_MOST_RODS = 6

Word = TypeVar("Word", bound=Enum)
Value = TypeVar("Value")


def read_plans(path: Path) -> PlansFile:
    """Read a plans file (`format = 1`, `[[plan]]` with `[[plan.anchor]]`, and if wanted `[decided]`).

    Raises
    ------
    PlanRefused
        When it is no TOML file of this format, or holds no plan that can be read. Anything less is a finding of the
        result, with what would be accepted.
    """
    findings: list[Finding] = []
    return _plans(opened(path, findings))


def plans_of(document: Mapping[str, object], sheet: str = "plans") -> PlansFile:
    """The plans of a document that was parsed or typed, as `read_plans` reads a file; findings call it `sheet`.

    Raises
    ------
    PlanRefused
        When it is of another format, or holds no plan that can be read.
    """
    return _plans(taken(document, sheet, []))


def _plans(fields: Fields) -> PlansFile:
    plans = tuple(plan for plan in map(_plan, fields.tables("plan")) if plan is not None)
    decided = _decided(fields)
    fields.finish()
    if not plans:
        fields.fault("plan", "no plan that can be read", "at least one [[plan]]", "no_plan")
        raise PlanRefused(fields.findings)
    first = tuple(_first_of_each_name(fields, plans))
    return PlansFile(first, decided, tuple(fields.findings))


def _decided(fields: Fields) -> MappingProxyType[Step, str]:
    value = fields.raw("decided")
    if value is not None and not isinstance(value, dict):
        fields.fault("decided", shown(value), "a table [decided] with a line for each step", "wrong_type")
    table = Fields(value if isinstance(value, dict) else {}, fields.sheet, "decided", fields.findings)
    lines = {step: table.raw(step.value) for step in Step}
    table.finish()
    return MappingProxyType({step: " ".join(str(line).split()) for step, line in lines.items() if line})


def _first_of_each_name(fields: Fields, plans: tuple[Plan, ...]) -> Iterator[Plan]:
    seen: set[str] = set()
    for plan in plans:
        if plan.name in seen:
            fields.fault(
                "plan.name", f"{plan.name} a second time", "each name once; this plan is left out", "plan_twice"
            )
        else:
            yield plan
        seen.add(plan.name)


def _plan(table: Fields) -> Plan | None:
    """A plan, or None when its levels or its name cannot be read."""
    before = len(table.findings)
    name, upper, lower = table.text("name", None), table.choice("upper", Level), table.choice("lower", Level)
    if not name or upper is None or lower is None:
        return None
    if upper.index >= lower.index:
        found = f"{upper.value} as the highest, {lower.value} as the lowest"
        table.fault("upper", found, "a highest level that lies above the lowest; this plan is left out", "level_order")
        return None
    plan = _body(table, name, upper, lower)
    table.finish()
    return replace(plan, complete=len(table.findings) == before)


def _body(table: Fields, name: str, upper: Level, lower: Level) -> Plan:
    anchors = tuple(_anchors(table, upper, lower))
    return Plan(
        name=name,
        title=table.text("title"),
        upper=upper,
        lower=lower,
        rods=_rods(table),
        connector=table.truth("connector"),
        anchors=anchors,
        graft=_words(table, "graft", Graft),
        graft_held_by=_word(table, "graft_held_by", GraftHold),
        graft_upper=_word(table, "graft_upper", Level),
        graft_lower=_word(table, "graft_lower", Level),
        support=_word(table, "support", Support),
        removal=_words(table, "decompression", Removal),
        spacers=_spacers(table),
        joints_prepared=_word(table, "joints_prepared", JointsPrepared),
        occipital_bone_left_mm=_length(table, "occipital_bone_left_mm", BONE_LEFT_MM),
        bmp=_if_read(table, "bmp", table.truth) if "bmp" in table else None,
    )


def _word(table: Fields, key: str, kind: type[Word]) -> Word | None:
    return table.choice(key, kind) if table.raw(key) is not None else None


def _words(table: Fields, key: str, kind: type[Word]) -> tuple[Word, ...] | None:
    """Words said; None where nothing is, or nothing that can be read: an empty list says "none"."""
    before = len(table.findings)
    words = tuple(dict.fromkeys(table.choices(key, kind))) if key in table else None
    return words or (None if len(table.findings) > before else words)


def _if_read(table: Fields, key: str, read: Callable[[str], Value]) -> Value | None:
    """What is read of a key; None where it is refused: what cannot be read is not known."""
    before = len(table.findings)
    value = read(key)
    return None if len(table.findings) > before else value


def _rods(table: Fields) -> int:
    value = table.raw("rods")
    if value is None:
        table.fault("rods", "nothing", f"a whole number from 0 to {_MOST_RODS}", "missing_key")
        return 0
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= _MOST_RODS:
        table.fault("rods", shown(value), f"a whole number from 0 to {_MOST_RODS}", "bad_value")
        return 0
    return value


def _spacers(table: Fields) -> Spacers:
    value = table.raw("spacer")
    if value is None:
        return NO_SPACERS
    if not isinstance(value, dict):
        table.fault("spacer", shown(value), "{ right_mm = 5, left_mm = 6 }", "wrong_type")
        return NO_SPACERS
    part = Fields(value, table.sheet, f"{table.place}.spacer", table.findings)
    held = Spacers(_length(part, "right_mm", SPACER_MM), _length(part, "left_mm", SPACER_MM))
    part.finish()
    return held


def _length(table: Fields, key: str, span: tuple[float, float]) -> float | None:
    """A length in mm within what can be true; None when absent or refused."""
    value = _if_read(table, key, table.optional_number)
    if value is None or span[0] <= value <= span[1]:
        return value
    table.fault(key, f"{value:g}", f"a number from {span[0]:g} to {span[1]:g} mm", "outside_hard")
    return None


def _anchors(table: Fields, upper: Level, lower: Level) -> Iterator[Anchor]:
    seen: set[Place] = set()
    for part in table.tables("anchor"):
        anchor = _anchor(part)
        if anchor is None:
            continue
        if not upper.index <= anchor.level.index <= lower.index:
            accepted = f"a level from {upper.value} to {lower.value}; this anchor is left out"
            part.fault("level", anchor.label, accepted, "anchor_outside")
        elif anchor.place in seen and anchor.kind is not Kind.MIDLINE_SCREW:
            part.fault(None, f"{anchor.label} a second time", "each anchor once; this one is left out", "anchor_twice")
        else:
            seen.add(anchor.place)
            yield anchor


def _anchor(part: Fields) -> Anchor | None:
    level, side, kind = part.choice("level", Level), part.choice("side", Side), part.choice("kind", Kind)
    before = len(part.findings)
    diameter, length = _length(part, "diameter_mm", DIAMETER_MM), _length(part, "length_mm", LENGTH_MM)
    refused = len(part.findings) > before
    part.finish()
    if level is None or side is None or kind is None or refused:
        return None
    if level not in kind.levels:
        accepted = _left_out(held.value for held in kind.levels)
        part.fault("level", f"a {kind.label} at {level.value}", accepted, "kind_level")
        return None
    if side not in kind.sides:
        accepted = _left_out(held.value for held in kind.sides)
        part.fault("side", f"a {kind.label} on side {side.value}", accepted, "kind_side")
        return None
    return Anchor(level, side, kind, diameter, length)


def _left_out(words: Iterable[str]) -> str:
    return f"{any_of(words)}; this anchor is left out"
