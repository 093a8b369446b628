"""Cells that point at a person. What is found is named by kind, never repeated."""

import re
from collections.abc import Callable

_MAIL = re.compile(r"[^\s@]+@[^\s@]+\.[A-Za-z]{2,}")
_DAY = re.compile(r"\d{4}-\d{1,2}-\d{1,2}(?:[ T][\d:.]+)?|\d{1,2}[./-]\d{1,2}[./-](?:\d{2}|\d{4})")
_LONG_NUMBER = re.compile(r"(?<![\w.])[+(]?\d(?:[\s()/-]{0,2}\d){7,}(?![\w.])")
_LONGEST_SHOWN = 60

MAIL = "an e-mail address"
NUMBER = "a telephone, hospital or national number"
DAY = "a date"
NAME = "a person's name"


def resembles(text: str) -> str | None:
    """What kind of direct identifier stands anywhere in the text, in words; None when there is none.

    >>> resembles("write to a.b@c.org"), resembles("943 476 5919"), resembles("TW-204"), resembles("2024-03-01")
    ('an e-mail address', 'a telephone, hospital or national number', None, None)
    """
    if "@" in text and _MAIL.search(text):
        return MAIL
    if _LONG_NUMBER.search(_DAY.sub(" ", text)):
        return NUMBER
    return None


def is_day(text: str) -> bool:
    """Whether the whole text is written as a calendar date."""
    return _DAY.fullmatch(text) is not None


def is_name(text: str) -> bool:
    """Whether a key looks like a person's name: words of letters only, each with a capital.

    >>> is_name("Smith, Jane"), is_name("Jane"), is_name("TW-204"), is_name("a3f9c2")
    (True, True, False, False)
    """
    words = [word for word in re.split(r"[\s,_.]+", text) if word]
    plain = [word.replace("'", "").replace("’", "").replace("-", "") for word in words]
    if not plain or not all(word.isalpha() for word in plain):
        return False
    return len(words) > 1 or (len(plain[0]) > 2 and words[0].istitle())


def in_key(text: str) -> str | None:
    """What kind of identifier a key is, in words; None for a plain code."""
    if is_day(text):
        return DAY
    return resembles(text) or (NAME if is_name(text) else None)


def harmless(text: str, kind_of: Callable[[str], str | None] = resembles) -> str:
    """The text as a finding may show it: short, and only its kind when it points at a person."""
    kind = kind_of(text)
    if kind is not None:
        return f"a text that looks like {kind}"
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 3]}..."
