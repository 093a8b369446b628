"""What is asked before a sheet is made: sides to read back, ticks, language, initials."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from starlette.datastructures import FormData

from riskmodel.cases.table import STATE_WORDS
from riskmodel.dictionary.model import Variable
from riskmodel.documents.family import Avoid, Choice, FamilyOptions
from riskmodel.documents.languages import DRAFTS, available
from riskmodel.documents.words import human
from riskmodel.web.desk import Case
from riskmodel.web.form import text

NOT_KNOWN = "not known"
_WAYS = {
    Choice.THIS_OPERATION: "this operation",
    Choice.OTHER_OPERATION: "a different operation",
    Choice.BRACE: "a brace, and watching",
    Choice.SCAN_AGAIN: "waiting, and a scan again",
    Choice.NOT_NOW: "no operation now",
}
_AVOID = {
    Avoid.JUMPING: "jumping, trampolines, diving",
    Avoid.CONTACT_SPORT: "sport with bumps",
    Avoid.RIDES: "rides that jerk the head",
    Avoid.NECK_HANDLING: "pulling or twisting of the neck",
    Avoid.SLEEP_MEDICINE: "an anaesthetic by somebody who does not know of the neck",
}
# Each in its own words, for whoever looks for it; a catalogue that is not listed shows its code.
_LANGUAGES = {"en": "English", "es": "Español"}
_LEFT, _RIGHT = "left", "right"
# Flags stand for parts of the sheet and for what the operation brings with it.
_FLAGS = {
    "reasons": "what moved the estimate, of bone and condition only",
    "growing_up": "follow-up until the child is grown",
    "young_person": "half a page for the young person (10 to 16 years)",
    "halo": "the child will wear a halo",
    "joined_skull": "the fusion takes in the skull",
}


@dataclass(frozen=True, slots=True)
class Sided:
    """Something that has two sides, or an anchor of a plan: both sides as they were typed."""

    label: str
    left: str
    right: str


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing to tick: what is sent, and what is read."""

    name: str
    label: str
    on: bool


@dataclass(frozen=True, slots=True)
class TickGroup:
    """Ticks under one heading."""

    title: str
    ticks: tuple[Tick, ...]


def sided(variables: Mapping[str, Variable], case: Case) -> tuple[Sided, ...]:
    """Everything of a case that has a side and is known on either: measured values, then anchors as planned."""
    return (*_measured(variables, case), *_planned(case))


def _measured(variables: Mapping[str, Variable], case: Case) -> Iterator[Sided]:
    for name, variable in variables.items():
        if variable.side != _RIGHT:
            continue
        twin = _twin(name)
        pair = {side: case.values.get(one, "") for side, one in ((_LEFT, twin), (_RIGHT, name))}
        if twin in variables and any(pair.values()):
            label = variable.label.removesuffix(f", {_RIGHT}")
            yield Sided(label, *(words(variable, pair[side]) for side in (_LEFT, _RIGHT)))


def _twin(name: str) -> str:
    return "_".join(_LEFT if part == _RIGHT else part for part in name.split("_"))


def words(variable: Variable, text: str) -> str:
    """A typed value as it is read back."""
    if not text:
        return NOT_KNOWN
    if text in STATE_WORDS:
        return human(text)
    label = next((level.label for level in variable.levels if level.code == text), text)
    return label if variable.levels or not variable.unit else f"{label} {variable.unit}"


def _planned(case: Case) -> Iterator[Sided]:
    """For each plan and level the anchors on either side; what stands in the midline has none."""
    for plan in case.planning.document.get("plan", ()):
        rows = [row for row in plan.get("anchor", ()) if isinstance(row, dict)]
        for level in dict.fromkeys(str(row.get("level")) for row in rows):
            held = {side: [_anchor(row) for row in rows if _at(row, level, side)] for side in (_LEFT, _RIGHT)}
            if any(held.values()):
                told = ("; ".join(held[side]) or "none" for side in (_LEFT, _RIGHT))
                yield Sided(f"Plan {plan.get('name')}, {level}", *told)


def _at(row: Mapping[str, object], level: str, side: str) -> bool:
    return str(row.get("level")) == level and row.get("side") == side


def _anchor(row: Mapping[str, object]) -> str:
    sizes = [f"{row[key]:g}" for key in ("diameter_mm", "length_mm") if isinstance(row.get(key), int | float)]
    return " ".join([human(str(row.get("kind", "anchor"))), *([f"{' x '.join(sizes)} mm"] if sizes else [])])


def groups(held: FamilyOptions) -> tuple[TickGroup, ...]:
    """Everything that the family's sheet can hold, by heading."""
    ways = tuple(Tick(choice.value, label, choice in held.choices) for choice, label in _WAYS.items())
    avoid = tuple(Tick(one.value, label, one in held.avoid) for one, label in _AVOID.items())
    flags = tuple(Tick(name, label, bool(getattr(held, name))) for name, label in _FLAGS.items())
    return (
        TickGroup("Ways that are open to this family", ways),
        TickGroup("To avoid until then", avoid),
        TickGroup("Further parts", flags),
    )


def language_choices(held: FamilyOptions) -> tuple[Tick, ...]:
    """Languages that there is a catalogue for."""
    return tuple(Tick(code, _language(code), code == held.language) for code in available())


def _language(code: str) -> str:
    """The name of a language; with the mark that its sheet will carry while nobody has read its catalogue."""
    name = _LANGUAGES.get(code, code)
    return f"{name} (draft translation)" if code in DRAFTS else name


def options_of(sent: FormData, by: str, on: date) -> FamilyOptions:
    """The ticks that a form holds; `by` are initials of who talked it through on the day `on`, empty for a draft."""
    ticked = {value for value in sent.getlist("tick") if isinstance(value, str)}
    language = text(sent, "language")
    return FamilyOptions(
        choices=tuple(choice for choice in Choice if choice.value in ticked),
        avoid=tuple(avoid for avoid in Avoid if avoid.value in ticked),
        initials=by,
        talked_on=on if by else None,
        language=language if language in available() else available()[0],
        **{name: name in ticked for name in _FLAGS},
    )
