"""One field of the form, drawn from its variable: control, unit, choices, the kinds of empty as words, help, norms."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import ClassVar

from riskmodel.cases.cells import NO_FLAG
from riskmodel.dictionary.coding import YES_NO_WORDS
from riskmodel.dictionary.model import Kind, Norm, Variable
from riskmodel.documents.words import SUPPORT, human
from riskmodel.errors import Finding
from riskmodel.web.desk import Case
from riskmodel.web.pages import Drawn
from riskmodel.web.steps import Group

NOT_KNOWN = "not known"


class Control(Enum):
    """How a field is filled."""

    NUMBER = "number"
    CHOICE = "choice"
    FLAGS = "flags"


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice: what is sent, what is read, and whether it is the one."""

    code: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Question:
    """An unusual value that has to be confirmed: what is usual, and whether that was done."""

    usual: str
    confirmed: bool


@dataclass(frozen=True, slots=True)
class Messages(Drawn):
    """What stands under a field: what is wrong, in sentences, and a question about an unusual value."""

    template: ClassVar[str] = "messages.html.jinja"

    name: str
    faults: tuple[str, ...]
    question: Question | None


@dataclass(frozen=True, slots=True)
class Field:
    """A field with what stands in it.

    `side`: the child's side, or nothing. `text`: what was typed, for a number. `words`: for a number, the words that
    may stand in its place. `choices`: of a choice or of flags.
    """

    name: str
    label: str
    unit: str
    side: str
    control: Control
    text: str
    words: tuple[Choice, ...]
    choices: tuple[Choice, ...]
    how: str
    norms: tuple[str, ...]
    messages: Messages


@dataclass(frozen=True, slots=True)
class FieldGroup:
    """A group with its fields; those of a group that is not open are not drawn. `filled` counts what is known."""

    number: int
    title: str
    step: int | None
    open: bool
    filled: int
    asked: int
    fields: tuple[Field, ...]


def field_groups(groups: Iterable[Group], variables: Mapping[str, Variable], case: Case) -> tuple[FieldGroup, ...]:
    """The form of a case: the first group is always open, a later one when asked for, or when it holds a fault."""
    faulty = {held.column for held in (*case.assessment.faults, *case.assessment.doubts)}
    return tuple(
        FieldGroup(
            number=group.number,
            title=group.title,
            step=group.step,
            open=opened,
            filled=sum(name in case.values for name in group.names),
            asked=len(group.names),
            fields=tuple(field(variables[name], case) for name in group.names) if opened else (),
        )
        for group in groups
        for opened in [group.number == 0 or group.number in case.opened or not faulty.isdisjoint(group.names)]
    )


def field(variable: Variable, case: Case) -> Field:
    """One field of a case."""
    text = case.values.get(variable.name, "")
    control = _control(variable)
    words = (("", "or why none"), *_words(variable.states))
    return Field(
        name=variable.name,
        label=variable.label,
        unit=variable.unit,
        side=variable.side or "",
        control=control,
        text="" if text in variable.states else text,
        words=_choices(words, (text,)) if control is Control.NUMBER and variable.states else (),
        choices=_chosen(variable, control, text),
        how=variable.how,
        norms=tuple(norm_words(norm) for norm in variable.norms),
        messages=messages(variable.name, case),
    )


def messages(name: str, case: Case) -> Messages:
    """What is to be said under one field."""
    faults = tuple(fault_words(held) for held in case.assessment.faults if held.column == name)
    return Messages(name, faults, _question(name, case))


def fault_words(finding: Finding) -> str:
    """A finding about a field, in a sentence without the field's name."""
    return f"Found {finding.found}; accepted: {finding.accepted}."


def norm_words(norm: Norm) -> str:
    """A norm with its source and how well it is supported."""
    parts = [norm.source or "no source", SUPPORT.get(norm.confidence or "", "")]
    return f"{norm.text} ({', '.join(part for part in parts if part)})"


def _control(variable: Variable) -> Control:
    if variable.kind is Kind.FLAGS:
        return Control.FLAGS
    return Control.CHOICE if variable.levels or variable.kind is Kind.YES_NO else Control.NUMBER


def _words(states: Iterable[str]) -> tuple[tuple[str, str], ...]:
    return tuple((state, human(state)) for state in states)


def _choices(pairs: Iterable[tuple[str, str]], chosen: Iterable[str]) -> tuple[Choice, ...]:
    held = set(chosen)
    return tuple(Choice(code, label, code in held) for code, label in pairs)


def _chosen(variable: Variable, control: Control, text: str) -> tuple[Choice, ...]:
    levels = tuple((level.code, level.label) for level in variable.levels)
    if control is Control.FLAGS:
        return _choices(((NO_FLAG, "none of these"), *levels), text.split("+"))
    if control is Control.CHOICE:
        own = levels or tuple((word, word) for word in YES_NO_WORDS)
        known = (("", NOT_KNOWN), *own, *_words(variable.states))
        # A text that is no code is kept as it was typed, so that the person who typed it can see and mend it.
        strange = () if not text or text in dict(known) else ((text, text),)
        return _choices((*known, *strange), (text,))
    return ()


def _question(name: str, case: Case) -> Question | None:
    usual = next((held.accepted for held in case.assessment.doubts if held.column == name), None)
    return None if usual is None else Question(usual, confirmed=name not in case.unconfirmed)
