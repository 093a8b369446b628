"""The parts of the sheet with numbers in them: what happened to other children, and why the guess is what it is."""

from collections.abc import Iterator
from dataclasses import replace

from riskmodel.documents.family import wording
from riskmodel.documents.family.model import Look, Part, Picture
from riskmodel.documents.family.numbers import FamilyNumber, Why
from riskmodel.documents.family.options import FamilyOptions
from riskmodel.documents.languages import SOURCE, Language
from riskmodel.documents.scored import counted
from riskmodel.drawing import Shares, squares
from riskmodel.errors import DocumentRefused

MONTHS_OF_YEAR = 12


def numbers_parts(numbers: tuple[FamilyNumber, ...], options: FamilyOptions, spoken: Language) -> Iterator[Part]:
    """What happened to others: an introduction, a part for each outcome, and what all the counts rest on."""
    told = [held for held in numbers if held.why is None]
    # One reason for all is said once, before them.
    shared = numbers[0].why if len({held.why for held in numbers}) == 1 else None
    # So is one horizon.
    months = told[0].months if len({held.months for held in told}) == 1 else None
    think = tuple(_think(told[0].total, months, spoken)) if told else ()
    yield Part(Look.PLAIN, spoken.say(wording.NUMBERS_TITLE), sentences=(*think, *_withheld(shared, spoken)))
    for held in numbers:
        own = replace(held, months=None) if held.months == months else held
        yield _outcome(own, spoken, held.why if held.why is not shared else None)
    yield Part(Look.PLAIN, "", sentences=(*_ground(told, spoken), spoken.say(wording.OTHER_RISKS)))
    if options.reasons and (moved := tuple(_reasons(told, spoken))):
        yield Part(Look.PLAIN, spoken.say(wording.REASONS_TITLE), sentences=moved)


def _outcome(held: FamilyNumber, spoken: Language, why: Why | None) -> Part:
    heading, meaning, *_ = wording.OUTCOMES.get(held.outcome, wording.ANY_OUTCOME)
    title = _own_label(held, spoken) if heading == wording.ANY_OUTCOME[0] else spoken.say(heading)
    means = (spoken.say(meaning),) if meaning else ()
    told = _told(held, spoken) if held.why is None else (*_withheld(why, spoken), _published(held, spoken))
    return Part(Look.NUMBERS, title, sentences=(*means, *told), picture=_picture(held, spoken))


def _own_label(held: FamilyNumber, spoken: Language) -> str:
    """An outcome without words for families is called what its dictionary calls it, in the dictionary's language."""
    if spoken.code != SOURCE:
        raise DocumentRefused(f"the outcome {held.outcome} has no words in the language {spoken.code!r} yet")
    return held.label


def _told(held: FamilyNumber, spoken: Language) -> Iterator[str]:
    _, _, between, up_to, guess = wording.OUTCOMES.get(held.outcome, wording.ANY_OUTCOME)
    yield from _within(held.months, spoken)
    # The range first, the guess second: the first number is the one that stays.
    yield spoken.say(between if held.low else up_to, low=held.low, high=held.high, total=held.total)
    others = held.total - (held.likely or 0)
    yield spoken.say(guess, likely=held.likely, others=others)


def _think(total: int, months: float | None, spoken: Language) -> Iterator[str]:
    yield spoken.say(wording.THINK, total=total)
    yield from _within(months, spoken)
    yield spoken.say(wording.GROUP)


def _within(months: float | None, spoken: Language) -> Iterator[str]:
    if months is None:
        return
    years, rest = divmod(months, MONTHS_OF_YEAR)
    if rest == 0 and years > 1:
        yield spoken.say(wording.YEARS, years=int(years))
    else:
        yield spoken.say(wording.MONTHS, months=f"{months:g}")


def _withheld(why: Why | None, spoken: Language) -> tuple[str, ...]:
    return () if why is None else tuple(spoken.say(text) for text in (*wording.NO_NUMBER[why], wording.ASK_US))


def _published(held: FamilyNumber, spoken: Language) -> str:
    if held.published_low is None or held.published_high is None:
        return spoken.say(wording.NOT_PUBLISHED)
    low, high = held.published_low, held.published_high
    return spoken.say(wording.PUBLISHED, low=low, high=high, total=held.total)


def _picture(held: FamilyNumber, spoken: Language) -> Picture | None:
    if held.likely is None or held.low is None or held.high is None:
        return None
    if held.wide:
        shares = Shares(held.low, held.high - held.low, held.total)
        told = [
            (wording.DARK_SURE, shares.sure),
            (wording.STRIPED, shares.perhaps),
            (wording.WHITE_SURE, shares.others),
        ]
    else:
        shares = Shares(held.likely, 0, held.total)
        told = [(wording.DARK, shares.sure), (wording.WHITE, shares.others)]
    key = tuple(spoken.say(text, count=count) for text, count in told)
    return Picture(squares(shares, " ".join(key)).svg, key)


def _ground(told: list[FamilyNumber], spoken: Language) -> Iterator[str]:
    """What the counts rest on, and what they do not say; the smallest of two cohorts stands for both."""
    if not told:
        return
    yield spoken.say(wording.RANGE)
    if len(told) > 1:
        yield spoken.say(wording.BOTH)
    children = min(counted(held.children) for held in told)
    if children:
        yield spoken.say(wording.RECORDS, children=children)
    yield spoken.say(wording.LIKE, like=min(held.like for held in told))
    if any(held.rare for held in told):
        yield spoken.say(wording.RARE)
    yield spoken.say(wording.NOT_EFFECT)
    yield spoken.say(wording.NOT_WAITING)


def _reasons(told: list[FamilyNumber], spoken: Language) -> Iterator[str]:
    """Reasons of the first outcome that has any: two lists side by side would be read as two children."""
    for held in told:
        for text, names in ((wording.RAISED, held.raised), (wording.LOWERED, held.lowered)):
            if names:
                what = ", ".join(spoken.say(wording.REASONS[name]) for name in names)
                yield spoken.say(text, what=what)
        if held.raised or held.lowered:
            yield spoken.say(wording.NO_BLAME)
            return
