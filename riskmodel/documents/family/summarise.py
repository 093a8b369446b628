"""From answers and ticks to the family's sheet."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from enum import Enum
from typing import TypeVar

from riskmodel.documents.family import wording
from riskmodel.documents.family.counts import numbers_parts
from riskmodel.documents.family.model import FamilySheet, Look, Part
from riskmodel.documents.family.numbers import family_number, total_of
from riskmodel.documents.family.options import WAITING, FamilyOptions
from riskmodel.documents.languages import Language, language
from riskmodel.documents.scored import Scored
from riskmodel.errors import DocumentRefused

FORMAT = 1
SHORT_DIGEST = 8
DICTIONARY = "cvj"
# Ticks that go with one level of a variable of the case, where the case holds it.
GOES_WITH = (("halo", "planned_support", "halo"), ("joined_skull", "upper_level", "O"))
_Tick = TypeVar("_Tick", bound=Enum)


def summarise(answers: Sequence[Scored], options: FamilyOptions, *, on: date) -> FamilySheet:
    """The sheet for one child, from its answers under one or two models.

    Raises
    ------
    DocumentRefused
        When there is no answer or more than two, no catalogue for the language, a dictionary that the sentences do
        not speak of, or a tick that the case contradicts.
    """
    held = tuple(answers)
    _check(held, options)
    spoken = language(options.language)
    total = total_of(held)
    numbers = tuple(family_number(answer, total, tuple(wording.REASONS)) for answer in held)
    numbered = tuple(numbers_parts(numbers, options, spoken))
    return FamilySheet(
        format=FORMAT,
        language=spoken.code,
        direction=spoken.direction,
        title=spoken.say(wording.TITLE),
        subtitle=spoken.say(wording.SUBTITLE),
        name_line=spoken.say(wording.NAME_LINE),
        marks=tuple(_marks(held, options, spoken)),
        parts=(*_before(options, spoken), *numbered, *_after(options, spoken)),
        small=_said(spoken, wording.SMALL),
        foot=tuple(_foot(held, options, spoken, on)),
        sign_line="" if options.talked_through else spoken.say(wording.SIGN_LINE),
        numbers=numbers,
    )


def _check(answers: tuple[Scored, ...], options: FamilyOptions) -> None:
    if not 1 <= len(answers) <= 2:
        raise DocumentRefused(f"a family's sheet speaks of one or two outcomes; found {len(answers)}")
    for answer in answers:
        if answer.bundle.dictionary.name != DICTIONARY:
            raise DocumentRefused(
                f"the sentences of a family's sheet are written for the dictionary {DICTIONARY}; {answer.bundle.id} "
                f"was made with {answer.bundle.dictionary.name}"
            )
        for tick, variable, level in GOES_WITH:
            found = answer.word(variable)
            if getattr(options, tick) and found not in (None, level):
                raise DocumentRefused(
                    f"the tick {tick} goes with {variable} = {level}; found {variable} = {found} in the case"
                )


def _marks(answers: tuple[Scored, ...], options: FamilyOptions, spoken: Language) -> Iterator[str]:
    if any(answer.bundle.demonstration for answer in answers):
        yield spoken.say(wording.DEMONSTRATION)
    if not options.talked_through:
        yield spoken.say(wording.DRAFT)
    if spoken.draft:
        yield spoken.say(wording.LANGUAGE_DRAFT)


def _before(options: FamilyOptions, spoken: Language) -> Iterator[Part]:
    yield _part(spoken, wording.ABOUT_TITLE, wording.ABOUT)
    if options.choices:
        pairs = [wording.CHOICES[choice] for choice in _in_order(options.choices)]
        items = tuple((spoken.say(lead), spoken.say(rest)) for lead, rest in pairs)
        yield Part(Look.PLAIN, spoken.say(wording.CHOICES_TITLE), items=items)


def _after(options: FamilyOptions, spoken: Language) -> Iterator[Part]:
    yield _call(options, spoken)
    yield _listed(spoken, wording.NEXT_TITLE, wording.NEXT)
    if options.avoid:
        avoid = [wording.AVOID[held] for held in _in_order(options.avoid)]
        yield replace(_listed(spoken, wording.AVOID_TITLE, avoid), look=Look.COLUMNS)
    more = [wording.AFTER_HALO] * options.halo + [wording.AFTER_SKULL] * options.joined_skull
    after = _listed(spoken, wording.AFTER_TITLE, (*wording.AFTER, *more))
    yield replace(after, blanks=_said(spoken, wording.AFTER_LINES))
    if options.growing_up:
        yield _listed(spoken, wording.GROWING_TITLE, wording.GROWING)
    waiting = [wording.QUESTION_WAITING] * bool(WAITING.intersection(options.choices))
    questions = _listed(spoken, wording.QUESTIONS_TITLE, (*waiting, *wording.QUESTIONS))
    yield replace(questions, look=Look.COLUMNS, blanks=(spoken.say(wording.OWN_QUESTIONS),), lines=1)
    yield Part(Look.PLAIN, "", sentences=(spoken.say(wording.TELL_BACK),))
    if options.young_person:
        yield _young(spoken)


def _call(options: FamilyOptions, spoken: Language) -> Part:
    """When to call whom: the emergency first."""
    calls = _listed(spoken, wording.CALL_TITLE, (*wording.CALL, *[wording.CALL_HALO] * options.halo))
    urgent = _said(spoken, (wording.CALL_NOW, wording.CALL_US))
    return replace(calls, look=Look.BOX, sentences=urgent, blanks=_said(spoken, wording.CALL_LINES))


def _young(spoken: Language) -> Part:
    """Half a page for the one whose neck it is."""
    return Part(
        Look.YOUNG,
        spoken.say(wording.YOUNG_TITLE),
        sentences=(spoken.say(wording.YOUNG),),
        items=tuple((spoken.say(lead), spoken.say(rest)) for lead, rest in wording.YOUNG_PARTS),
        blanks=_said(spoken, wording.YOUNG_LINES),
        lines=6,
    )


def _said(spoken: Language, texts: Sequence[str]) -> tuple[str, ...]:
    return tuple(spoken.say(text) for text in texts)


def _part(spoken: Language, title: str, sentences: Sequence[str]) -> Part:
    return Part(Look.PLAIN, spoken.say(title), sentences=_said(spoken, sentences))


def _listed(spoken: Language, title: str, items: Sequence[str]) -> Part:
    return Part(Look.PLAIN, spoken.say(title), items=tuple(("", spoken.say(text)) for text in items))


def _in_order(ticked: tuple[_Tick, ...]) -> list[_Tick]:
    """Ticks in the order of the catalogue, each once, whatever the order of ticking."""
    return [held for held in type(ticked[0]) if held in ticked]


def _foot(answers: tuple[Scored, ...], options: FamilyOptions, spoken: Language, on: date) -> Iterator[str]:
    yield spoken.say(wording.MADE, day=spoken.day(on))
    for answer in answers:
        yield spoken.say(wording.MODEL, digest=answer.bundle.digest[:SHORT_DIGEST])
    yield spoken.say(wording.AGAIN, day=spoken.day(min(answer.bundle.review_by for answer in answers)))
    if options.talked_on is not None and options.talked_through:
        yield spoken.say(wording.SIGNED, initials=options.initials.strip(), day=spoken.day(options.talked_on))
