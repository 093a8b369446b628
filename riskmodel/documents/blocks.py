"""What a page is made of, whichever way it is rendered: sections of paragraphs, lists, facts, tables and figures.

A summary says what is known; blocks say in which order it is read; `html`, `markdown` and `pdf` draw any of them.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A sentence or more; `strong` for what must not be overlooked."""

    text: str
    strong: bool = False
    kind: str = "paragraph"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list."""

    items: tuple[str, ...]
    kind: str = "bullets"


@dataclass(frozen=True, slots=True)
class Facts:
    """Pairs of a name and what holds."""

    rows: tuple[tuple[str, str], ...]
    kind: str = "facts"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head; columns whose index is in `numbers` are set flush right."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...] = ()
    kind: str = "table"


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing (SVG, made by `riskmodel.drawing`) with its caption and the same content in words."""

    svg: str
    caption: str
    words: str


@dataclass(frozen=True, slots=True)
class Figures:
    """Figures that are read together, two abreast where there is room."""

    held: tuple[Figure, ...]
    kind: str = "figures"


Block = Paragraph | Bullets | Facts | Table | Figures


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """A whole document: `band` runs across the top of every sheet (None for none), `foot` along the bottom."""

    title: str
    subtitle: str
    band: str | None
    foot: str
    sections: tuple[Section, ...]
    language: str = "en"
