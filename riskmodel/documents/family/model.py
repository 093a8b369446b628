"""The family's sheet as frozen values: texts are in the sheet's language, in reading order."""

from dataclasses import dataclass, fields, is_dataclass
from enum import Enum

from riskmodel.documents.family.numbers import FamilyNumber


class Look(Enum):
    """How a part is set."""

    PLAIN = "plain"
    NUMBERS = "numbers"
    COLUMNS = "columns"
    BOX = "box"
    YOUNG = "young"


@dataclass(frozen=True, slots=True)
class Picture:
    """The squares (SVG), and their key; the key says in words what the squares show."""

    svg: str
    key: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One part: sentences, then a list, then what is written by hand.

    `items` are pairs of a lead and the rest. `blanks` are what the lines of one row are for; `lines` more run across.
    """

    look: Look
    title: str
    sentences: tuple[str, ...] = ()
    items: tuple[tuple[str, str], ...] = ()
    picture: Picture | None = None
    blanks: tuple[str, ...] = ()
    lines: int = 0


@dataclass(frozen=True, slots=True)
class FamilySheet:
    """The whole sheet. `marks` run across the top of every page; `small` and `foot` stand at the end."""

    format: int
    language: str
    direction: str
    title: str
    subtitle: str
    name_line: str
    marks: tuple[str, ...]
    parts: tuple[Part, ...]
    small: tuple[str, ...]
    foot: tuple[str, ...]
    sign_line: str
    numbers: tuple[FamilyNumber, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """Every text that is printed, each ending a sentence: what the reading grade is taken of."""
        printed = (self.title, self.subtitle, self.name_line, self.marks, self.parts, self.small, self.foot)
        return tuple(text for part in (*printed, self.sign_line) for text in _texts(part) if text)


def _texts(held: object) -> tuple[str, ...]:
    if isinstance(held, str):
        return (held,)
    if isinstance(held, tuple):
        return tuple(text for part in held for text in _texts(part))
    if is_dataclass(held):
        return tuple(text for spot in fields(held) if spot.name != "svg" for text in _texts(getattr(held, spot.name)))
    return ()
