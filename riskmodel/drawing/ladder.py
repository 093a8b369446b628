"""The ladder: levels from the occiput down, seen from behind, the child's left on the left, what fits at each site.

Class is told by shape and letter, never by colour: circle F+ fits with room, circle F fits, triangle B fits barely,
crossed square X does not fit, dashed diamond ? not measured, bar - no bone.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from riskmodel.drawing.svg import INK, PAPER, Drawing, Point, circle, drawing, line, polygon, rectangle, text

WIDTH, RUNG, TOP, BOTTOM = 360.0, 46.0, 34.0, 112.0
MIDDLE = WIDTH / 2
# The child's left stands on the left of the sheet: the child is seen from behind.
SITE = {"left": 122.0, "right": WIDTH - 122.0}
SIZE = 9.0
LINE, MOST_LINES = 12.5, 3
FIGURES_SAY = (
    "shape and letter: for the planned, else the usual screw",
    "beside it: largest screw that fits, margin left, in mm",
)


class Mark(Enum):
    """Class of a site: the letter that stands in its shape."""

    WITH_ROOM = "F+"
    FITS = "F"
    BARELY = "B"
    NOT = "X"
    UNKNOWN = "?"
    NO_BONE = "–"

    @property
    def words(self) -> str:
        """The class in words."""
        return _WORDS[self]


_WORDS = {
    Mark.WITH_ROOM: "fits with room",
    Mark.FITS: "fits",
    Mark.BARELY: "fits barely",
    Mark.NOT: "does not fit",
    Mark.UNKNOWN: "not measured",
    Mark.NO_BONE: "no bone",
}


@dataclass(frozen=True, slots=True)
class Site:
    """One site: its class, up to three lines beside it (what; largest screw, margin; artery), and if it is planned."""

    mark: Mark
    lines: tuple[str, ...] = ()
    planned: bool = False


@dataclass(frozen=True, slots=True)
class Midline:
    """What stands in the middle of a rung: a class and one short line."""

    mark: Mark
    line: str = ""


@dataclass(frozen=True, slots=True)
class Rung:
    """One level with its two sites; `fused_below`: grown together with the next level."""

    level: str
    left: Site | None = None
    right: Site | None = None
    midline: Midline | None = None
    fused_below: bool = False


@dataclass(frozen=True, slots=True)
class Ladder:
    """Rungs from above down."""

    rungs: tuple[Rung, ...]


def ladder_drawing(ladder: Ladder) -> Drawing:
    """The ladder with its legend."""
    height = TOP + RUNG * len(ladder.rungs) + BOTTOM
    return drawing(WIDTH, height, _parts(ladder, height), "\n".join(_told(ladder)))


def _told(ladder: Ladder) -> Iterator[str]:
    yield "Seen from behind, the child's left on the left."
    for rung in ladder.rungs:
        sides = {"left": rung.left, "right": rung.right}
        told = [f"{side}: {_site_words(site)}" for side, site in sides.items() if site is not None]
        if rung.midline is not None:
            told.append(f"midline: {' '.join((rung.midline.mark.words, rung.midline.line)).strip()}")
        fused = " Grown together with the level below." if rung.fused_below else ""
        yield f"{rung.level}: {'; '.join(told) or 'nothing measured'}.{fused}"


def _site_words(site: Site) -> str:
    planned = ("planned here",) if site.planned else ()
    return ", ".join((site.mark.words, *site.lines, *planned))


def _parts(ladder: Ladder, height: float) -> Iterator[str]:
    bottom = TOP + RUNG * len(ladder.rungs)
    for side, x in (("L", 12.0), ("R", WIDTH - 12.0)):
        yield text((x, 18), side, size=15, anchor="middle", bold=True)
        yield text((x, bottom + 4), side, size=15, anchor="middle", bold=True)
    yield text((MIDDLE, 12), "seen from behind", size=10.5, anchor="middle")
    for i, rung in enumerate(ladder.rungs):
        yield from _rung(rung, TOP + RUNG * (i + 0.5))
    yield from _legend(height)


def _rung(rung: Rung, y: float) -> Iterator[str]:
    yield line((SITE["left"], y), (SITE["right"], y), width=0.8)
    if rung.fused_below:
        for x in (MIDDLE - 24, MIDDLE + 24):
            yield line((x, y), (x, y + RUNG), width=2.4)
    half = max(15.0, 4.6 * len(rung.level))
    yield rectangle((MIDDLE - half, y - 10), 2 * half, 20, round_by=4)
    yield text((MIDDLE, y + 5), rung.level, size=14.5, anchor="middle", bold=True)
    if rung.midline is not None:
        yield text(
            (MIDDLE, y + 21.5), f"{rung.midline.mark.value} {rung.midline.line}".strip(), size=10.5, anchor="middle"
        )
    for side, site in (("left", rung.left), ("right", rung.right)):
        if site is not None:
            yield from _site(site, (SITE[side], y), outward=-1 if side == "left" else 1)


def _site(site: Site, at: Point, *, outward: int) -> Iterator[str]:
    if site.planned:
        yield circle(at, SIZE + 4.5, width=2.2)
    yield from _shape(site.mark, at)
    anchor = "end" if outward < 0 else "start"
    x = at[0] + outward * (SIZE + 8)
    # One short line each: a wide font of the reader's has room too.
    first = at[1] + 4.0 - LINE * (len(site.lines) - 1) / 2
    for i, words in enumerate(site.lines[:MOST_LINES]):
        yield text((x, first + LINE * i), words, size=11, anchor=anchor, bold=i == 0)


def _shape(mark: Mark, at: Point) -> Iterator[str]:
    x, y = at
    if mark in (Mark.WITH_ROOM, Mark.FITS):
        yield circle(at, SIZE)
    elif mark is Mark.BARELY:
        yield polygon([(x, y - SIZE - 2), (x + SIZE + 1, y + SIZE - 2), (x - SIZE - 1, y + SIZE - 2)], width=1.5)
    elif mark is Mark.NOT:
        yield rectangle((x - SIZE, y - SIZE), 2 * SIZE, 2 * SIZE, fill=INK)
    elif mark is Mark.UNKNOWN:
        r = SIZE + 2
        yield polygon([(x, y - r), (x + r, y), (x, y + r), (x - r, y)], width=1.2, dashes="2 2")
    else:
        yield line((x - SIZE, y), (x + SIZE, y), width=3)
        return
    colour = PAPER if mark is Mark.NOT else INK
    yield text((x, y + 3.8), mark.value, size=10.5, anchor="middle", bold=True, colour=colour)


def _legend(height: float) -> Iterator[str]:
    for i, mark in enumerate(Mark):
        x, y = 14.0 + 118.0 * (i % 3), height - 88.0 + 22.0 * (i // 3)
        yield from _shape(mark, (x, y))
        yield text((x + SIZE + 6, y + 3.5), mark.words, size=10.5)
    at = (14.0, height - 88.0 + 22.0 * 2)
    yield circle(at, SIZE, width=2.2)
    yield text((at[0] + SIZE + 6, at[1] + 3.5), "ring: planned in one of the plans", size=10.5)
    for i, says in enumerate(FIGURES_SAY):
        yield text((8.0, at[1] + 22.0 + 14.0 * i), says, size=10.5)
