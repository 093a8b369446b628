"""The few shapes that the drawings are made of. Lengths are in the drawing's own units, y downward."""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

INK = "#1a1a1a"
GREY = "#8a8a8a"
PALE = "#dedede"
PAPER = "#ffffff"
FONT = "Helvetica, Arial, Libertinus Serif, sans-serif"
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Drawing:
    """An SVG document and the same content in words."""

    svg: str
    words: str


def number(value: float) -> str:
    """A length to a hundredth of a unit, without needless zeros."""
    told = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if told == "-0" else told


def tag(name: str, inside: str = "", /, **attributes: str | float | None) -> str:
    """An element; underscores in attribute names become hyphens, None is left out, texts are escaped."""
    told = "".join(
        f' {key.replace("_", "-")}="{_held(value)}"' for key, value in attributes.items() if value is not None
    )
    return f"<{name}{told}>{inside}</{name}>" if inside else f"<{name}{told}/>"


def _held(value: str | float) -> str:
    return escape(value) if isinstance(value, str) else number(value)


def drawing(width: float, height: float, parts: Iterable[str], words: str) -> Drawing:
    """The parts on a sheet of this size."""
    svg = tag(
        "svg",
        tag("title", escape(words)) + "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=width,
        height=height,
        role="img",
        font_family=FONT,
    )
    return Drawing(svg, words)


def text(
    at: Point, words: str, *, size: float = 11, anchor: str = "start", bold: bool = False, colour: str = INK
) -> str:
    """A line of text whose baseline starts (or has its middle, or ends) at a point."""
    weight = "bold" if bold else None
    return tag(
        "text", escape(words), x=at[0], y=at[1], font_size=size, text_anchor=anchor, font_weight=weight, fill=colour
    )


def line(start: Point, end: Point, *, width: float = 1, colour: str = INK, dashes: str | None = None) -> str:
    """A straight line."""
    return tag(
        "line",
        x1=start[0],
        y1=start[1],
        x2=end[0],
        y2=end[1],
        stroke=colour,
        stroke_width=width,
        stroke_dasharray=dashes,
    )


def polyline(points: Iterable[Point]) -> str:
    """A line through points."""
    return tag("polyline", points=_points(points), fill="none", stroke=INK, stroke_width=1.6)


def polygon(points: Iterable[Point], *, fill: str = PAPER, width: float = 0, dashes: str | None = None) -> str:
    """A closed shape; with a width its outline is drawn too."""
    stroke = INK if width else "none"
    return tag("polygon", points=_points(points), fill=fill, stroke=stroke, stroke_width=width, stroke_dasharray=dashes)


def _points(points: Iterable[Point]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)


def rectangle(
    at: Point, width: float, height: float, *, fill: str = PAPER, stroke: float = 1, round_by: float = 0
) -> str:
    """A rectangle from its upper left corner; `round_by` is the radius of its corners."""
    return tag(
        "rect",
        x=at[0],
        y=at[1],
        width=width,
        height=height,
        rx=round_by or None,
        fill=fill,
        stroke=INK if stroke else "none",
        stroke_width=stroke,
    )


def circle(at: Point, radius: float, *, fill: str = PAPER, width: float = 1.5) -> str:
    """A circle."""
    return tag("circle", cx=at[0], cy=at[1], r=radius, fill=fill, stroke=INK, stroke_width=width)
