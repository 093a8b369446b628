"""Names: what one may look like, which known one was probably meant, and which ones point at a person."""

import difflib
import re
from collections.abc import Iterable
from itertools import pairwise

NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*")
NAME_ACCEPTED = "letters, digits and underscores, a letter first"
CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.\-]*")

_ALONE = re.compile(
    r"names?|surnames?|forenames?|firstname|lastname|fullname|initials|dob|birthdate|birthday|birthplace|born|address"
    r"|street|postcodes?|zip|zipcode|phone|telephone|mobile|fax|emails?|mail|mrn|nhs|ssn|passport|mother|father|guardian"
)
_NUMBER = re.compile(r"number|no|nr|num|id|identifier")
_HOLDER = re.compile(
    r"patient|hospital|national|insurance|health|medical|records?|chart|security|social|unit|registration|identity|chi"
)
_BIRTH = re.compile(r"birth|of|date|day|month|year|time|place|dd|mm|yy|yyyy|child|patient")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that `name` was probably meant to be, or None when none is close."""
    found = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def suggestion(name: str, known: Iterable[str]) -> str:
    """What to say about an unknown name: the nearest known one, or all when they are few."""
    known = list(known)
    close = nearest(name, known)
    if close is not None:
        return f"{close} (the nearest known name)"
    if not known:
        return "a known name"
    return f"one of {len(known)} known names, {known[0]} the first" if len(known) > 12 else f"one of {', '.join(known)}"


def points_at_person(name: str) -> bool:
    """Whether a column of this name would hold a direct identifier (name, birth, address, telephone, number, ...).

    A birth weight or a number of levels passes; a patient's number or a year of birth does not.

    >>> points_at_person("Date of birth"), points_at_person("birth_weight_g"), points_at_person("hospital no.")
    (True, False, True)
    """
    parts = [part for part in re.split(r"[^a-z0-9]+", _spaced(name).lower()) if part]
    pairs = [first + second for first, second in pairwise(parts)]  # e-mail, post code
    return (
        any(map(_ALONE.fullmatch, (*parts, *pairs)))
        or ("birth" in parts and all(map(_BIRTH.fullmatch, parts)))
        or (any(map(_NUMBER.fullmatch, parts)) and any(map(_HOLDER.fullmatch, parts)))
    )


def _spaced(name: str) -> str:
    """`dateOfBirth` as `date Of Birth`."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
