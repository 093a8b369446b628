"""Plans as a form: from a document to fields, and from what was sent back to a document."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import isfinite
from typing import Any

from starlette.datastructures import FormData

from riskmodel.documents.words import human
from riskmodel.plans.files import FORMAT
from riskmodel.plans.words import Graft, GraftHold, JointsPrepared, Kind, Level, Removal, Side, Support
from riskmodel.web.fields import Choice
from riskmodel.web.form import text

MOST_PLANS, MOST_ANCHORS, BLANK_ANCHORS = 4, 24, 2
NAMES = "ABCD"
NONE = "none"
_RODS = tuple(map(str, range(7)))
_YES_NO = {"yes": True, "no": False}
# One word of a few; the words of the file are shown without underscores.
_ONE: Mapping[str, tuple[str, Sequence[str]]] = {
    "upper": ("Highest level", [level.value for level in Level]),
    "lower": ("Lowest level", [level.value for level in Level]),
    "rods": ("Rods", _RODS),
    "connector": ("Cross-connector", tuple(_YES_NO)),
    "graft_upper": ("Graft from", [level.value for level in Level]),
    "graft_lower": ("Graft to", [level.value for level in Level]),
    "graft_held_by": ("Graft held by", [hold.value for hold in GraftHold]),
    "joints_prepared": ("C1-C2 joints prepared", [joints.value for joints in JointsPrepared]),
    "support": ("Support afterwards", [support.value for support in Support]),
    "bmp": ("Growth factor (off-label in children)", tuple(_YES_NO)),
}
_SEVERAL: Mapping[str, tuple[str, type[Enum]]] = {"graft": ("Graft", Graft), "decompression": ("Bone removed", Removal)}
_LENGTHS = {
    "spacer.left_mm": "Spacer, left",
    "spacer.right_mm": "Spacer, right",
    "occipital_bone_left_mm": "Occipital bone left above a removal",
}
_ANCHOR: Mapping[str, Sequence[str]] = {
    "level": [level.value for level in Level],
    "side": [side.value for side in (Side.LEFT, Side.RIGHT, Side.MIDLINE)],
    "kind": [kind.value for kind in Kind],
}
_ANCHOR_LENGTHS = ("diameter_mm", "length_mm")


@dataclass(frozen=True, slots=True)
class Picker:
    """A field with choices; with `several`, any of them."""

    name: str
    label: str
    choices: tuple[Choice, ...]
    several: bool = False


@dataclass(frozen=True, slots=True)
class Length:
    """A field for a length in mm."""

    name: str
    label: str
    text: str


@dataclass(frozen=True, slots=True)
class AnchorDraft:
    """One row of anchors: where and what, then sizes."""

    label: str
    pickers: tuple[Picker, ...]
    lengths: tuple[Length, ...]


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """One plan as a form."""

    number: int
    prefix: str
    name: str
    title: str
    pickers: tuple[Picker, ...]
    lengths: tuple[Length, ...]
    anchors: tuple[AnchorDraft, ...]


def drafts(document: Mapping[str, Any], *, more: bool) -> tuple[PlanDraft, ...]:
    """The plans of a document as forms; a blank one when there is none, or when one more is asked for."""
    plans = [plan for plan in document.get("plan", ()) if isinstance(plan, dict)]
    if not plans or (more and len(plans) < MOST_PLANS):
        used = {str(plan.get("name")) for plan in plans}
        blank = {"name": next((name for name in NAMES if name not in used), ""), "rods": 2, "connector": False}
        plans.append(blank)
    return tuple(_draft(i, plan) for i, plan in enumerate(plans))


def _draft(number: int, plan: Mapping[str, Any]) -> PlanDraft:
    prefix = f"p{number}."
    spacer = plan.get("spacer")
    flat = {**plan, **{f"spacer.{key}": value for key, value in (spacer or {}).items()}} if _table(spacer) else plan
    several = (_several(prefix, key, label, kind, plan.get(key)) for key, (label, kind) in _SEVERAL.items())
    rows = [row for row in plan.get("anchor", ()) if isinstance(row, dict)]
    blank: list[dict[str, Any]] = [{} for _ in range(min(BLANK_ANCHORS, MOST_ANCHORS - len(rows)))]
    return PlanDraft(
        number=number,
        prefix=prefix,
        name=_shown(plan.get("name")),
        title=_shown(plan.get("title")),
        pickers=(*(_one(prefix, key, label, words, plan.get(key)) for key, (label, words) in _ONE.items()), *several),
        lengths=tuple(Length(prefix + key, label, _shown(flat.get(key))) for key, label in _LENGTHS.items()),
        anchors=tuple(_anchor(f"{prefix}a{i}.", i, row) for i, row in enumerate([*rows, *blank])),
    )


def _table(value: object) -> bool:
    return value is None or isinstance(value, dict)


def _anchor(prefix: str, number: int, row: Mapping[str, Any]) -> AnchorDraft:
    label = f"Anchor {number + 1}"
    return AnchorDraft(
        label=label,
        pickers=tuple(_one(prefix, key, f"{label}: {key}", words, row.get(key)) for key, words in _ANCHOR.items()),
        lengths=tuple(
            Length(prefix + key, f"{label}: {human(key.removesuffix('_mm'))} in mm", _shown(row.get(key)))
            for key in _ANCHOR_LENGTHS
        ),
    )


def _one(prefix: str, key: str, label: str, words: Sequence[str], value: object) -> Picker:
    """A word that is none of the choices is kept as one more, so that whoever typed it can see and mend it."""
    held = _shown(value)
    strange = () if held in ("", *words) else (held,)
    choices = (Choice(word, _label(word), word == held) for word in (*words, *strange))
    return Picker(prefix + key, label, (Choice("", "", not held), *choices))


def _several(prefix: str, key: str, label: str, kind: type[Enum], value: object) -> Picker:
    held = list(map(str, value)) if isinstance(value, list) else []
    none = Choice(NONE, NONE, isinstance(value, list) and not held)
    choices = (Choice(word.value, _label(word.value), word.value in held) for word in kind)
    return Picker(prefix + key, label, (none, *choices), several=True)


def _label(word: str) -> str:
    """A word of the file as it is read; vertebrae keep their capital."""
    return re.sub(r"\bc(?=\d)", "C", human(word))


def _shown(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def document_of(sent: FormData, decided: Mapping[str, str]) -> dict[str, Any]:
    """The plans that a form holds; a plan of which nothing but its name is filled in is left out."""
    plans = [_plan(sent, f"p{number}.") for number in range(MOST_PLANS * 2) if f"p{number}.name" in sent]
    filled = [plan for plan in plans if set(plan) - {"name", "rods", "connector"}]
    return {"format": FORMAT, "plan": filled, **({"decided": dict(decided)} if decided else {})}


def _plan(sent: FormData, prefix: str) -> dict[str, Any]:
    words = {key: text(sent, prefix + key) for key in ("name", "title", *_ONE)}
    plan: dict[str, Any] = {key: _typed(key, word) for key, word in words.items() if word}
    for key in _SEVERAL:
        chosen = [value for value in sent.getlist(prefix + key) if isinstance(value, str) and value]
        if chosen:
            plan[key] = [] if chosen == [NONE] else chosen
    plan |= _lengths(sent, prefix, ["occipital_bone_left_mm"])
    spacer = _lengths(sent, f"{prefix}spacer.", ["right_mm", "left_mm"])
    plan |= {"spacer": spacer} if spacer else {}
    anchors = [_sent_anchor(sent, f"{prefix}a{i}.") for i in range(MOST_ANCHORS)]
    return {**plan, "anchor": [anchor for anchor in anchors if anchor]} if any(anchors) else plan


def _sent_anchor(sent: FormData, prefix: str) -> dict[str, Any]:
    words = {key: text(sent, prefix + key) for key in _ANCHOR}
    return {**{key: word for key, word in words.items() if word}, **_lengths(sent, prefix, _ANCHOR_LENGTHS)}


def _typed(key: str, word: str) -> object:
    if key == "rods" and word in _RODS:
        return int(word)
    return _YES_NO.get(word, word) if key in ("connector", "bmp") else word


def _lengths(sent: FormData, prefix: str, keys: Iterable[str]) -> dict[str, Any]:
    """Numbers as numbers; anything else as it was typed, for the reader to name."""
    typed = {key: text(sent, prefix + key) for key in keys}
    return {key: _number(word) for key, word in typed.items() if word}


def _number(word: str) -> float | str:
    try:
        held = float(word)
    except ValueError:
        return word
    return held if isfinite(held) else word
