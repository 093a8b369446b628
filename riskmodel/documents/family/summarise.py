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
        small=tuple(spoken.say(text) for text in wording.SMALL),
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
    calls = (*wording.CALL, *([wording.CALL_HALO] if options.halo else []))
    yield replace(_listed(spoken, wording.CALL_TITLE, calls), look=Look.BOX, write=spoken.say(wording.CALL_NUMBER))
    if options.avoid:
        yield _listed(spoken, wording.AVOID_TITLE, [wording.AVOID[held] for held in _in_order(options.avoid)])
    more = [wording.AFTER_HALO] * options.halo + [wording.AFTER_SKULL] * options.joined_skull
    yield _part(spoken, wording.AFTER_TITLE, (*wording.AFTER, *more))
    if options.growing_up:
        yield _listed(spoken, wording.GROWING_TITLE, wording.GROWING)
    waiting = [wording.QUESTION_WAITING] * bool(WAITING.intersection(options.choices))
    questions = _listed(spoken, wording.QUESTIONS_TITLE, (*waiting, *wording.QUESTIONS))
    yield replace(questions, write=spoken.say(wording.OWN_QUESTIONS), lines=2)
    yield Part(Look.PLAIN, "", sentences=(spoken.say(wording.TELL_BACK),))
    if options.young_person:
        sentences = tuple(spoken.say(text) for text in wording.YOUNG)
        yield Part(Look.YOUNG, spoken.say(wording.YOUNG_TITLE), sentences=sentences, lines=4)


def _part(spoken: Language, title: str, sentences: Sequence[str]) -> Part:
    return Part(Look.PLAIN, spoken.say(title), sentences=tuple(spoken.say(text) for text in sentences))


def _listed(spoken: Language, title: str, items: Sequence[str]) -> Part:
    return Part(Look.PLAIN, spoken.say(title), items=tuple(("", spoken.say(text)) for text in items))


def _in_order(ticked: tuple[_Tick, ...]) -> list[_Tick]:
    """Ticks in the order of the catalogue, each once, whatever the order of ticking."""
    return [held for held in type(ticked[0]) if held in ticked]


def _foot(answers: tuple[Scored, ...], options: FamilyOptions, spoken: Language, on: date) -> Iterator[str]:
    yield spoken.say(wording.MADE, day=spoken.day(on))
    for answer in answers:
        yield spoken.say(wording.MODEL, model=answer.bundle.id, digest=answer.bundle.digest[:SHORT_DIGEST])
    yield spoken.say(wording.AGAIN, day=spoken.day(min(answer.bundle.review_by for answer in answers)))
    if options.talked_on is not None and options.talked_through:
        yield spoken.say(wording.SIGNED, initials=options.initials.strip(), day=spoken.day(options.talked_on))
