"""Where one looks rather than reads: what is missing where, and how long the children are followed."""

from collections.abc import Iterator

from riskmodel.documents.blocks import Figure
from riskmodel.drawing.svg import INK, PALE, PAPER, Point, drawing, line, rectangle, text
from training.report.checked.courses import Followed
from training.report.checked.missing import Gap, MissingMap, Share

_SHADES = {
    Share.HARDLY_ANY: PAPER,
    Share.SOME: PALE,
    Share.MANY: "#a8a8a8",
    Share.MOST: "#686868",
    Share.NEARLY_ALL: INK,
}
_CELL, _LABEL, _HEAD, _LEGEND = 20.0, 205.0, 66.0, 26.0
_LONGEST_LABEL, _LONGEST_PART = 38, 11
_BAR, _BARS = 18.0, 300.0


def missing_figure(held: MissingMap) -> Figure:
    """A square for each variable and part of the cohort, the darker the more is missing."""
    caption = "What is missing, by variable and centre: the darker, the more"
    width = max(_LABEL + _CELL * len(held.parts) + 10, _LABEL + 125)
    height = _HEAD + _CELL * len(held.gaps) + _LEGEND + 10

    def parts() -> Iterator[str]:
        for column, part in enumerate(held.parts):
            yield _slanted((_LABEL + _CELL * (column + 0.5), _HEAD - 6), _cut(part, _LONGEST_PART))
        for row, gap in enumerate(held.gaps):
            yield from _row(gap, _HEAD + _CELL * row)
        yield from _legend(_HEAD + _CELL * len(held.gaps) + 12)

    drawn = drawing(width, height, parts(), caption)
    return Figure(drawn.svg, caption, _words(held))


def _row(gap: Gap, top: float) -> Iterator[str]:
    yield text((_LABEL - 6, top + 14), _cut(gap.label, _LONGEST_LABEL), size=10.5, anchor="end")
    for column, share in enumerate(gap.shares):
        yield rectangle((_LABEL + _CELL * column, top), _CELL, _CELL, fill=_SHADES[share], stroke=0.6)


def _legend(top: float) -> Iterator[str]:
    """The five shades, with their steps."""
    for place, share in enumerate(Share):
        left = 6 + 64.0 * place
        yield rectangle((left, top), 12, 12, fill=_SHADES[share], stroke=0.6)
        yield text((left + 16, top + 10), share.words, size=9.5)


def _slanted(at: Point, words: str) -> str:
    inside = text((0, 0), words, size=10)
    return f'<g transform="translate({at[0]:g} {at[1]:g}) rotate(-45)">{inside}</g>'


def _cut(words: str, longest: int) -> str:
    return words if len(words) <= longest else words[: longest - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"


def _words(held: MissingMap) -> str:
    """The widest gaps in sentences; the table beside the figure has all of them."""
    first = [f"{gap.label}, {gap.shares[0].words} of 100" for gap in held.gaps[:10]]
    more = len(held.gaps) - len(first)
    rest = f"; and {more} more variables, in the table" if more > 0 else ""
    return "Missing over all children: " + "; ".join(first) + rest + "."


def followed_figure(held: tuple[Followed, ...], horizon: float | None) -> Figure:
    """Bars: the share of the children that is followed for so long; the horizon's bar is dark."""
    caption = "How long the children are followed"

    def parts() -> Iterator[str]:
        for row, each in enumerate(held):
            top = 8 + _BAR * 1.35 * row
            yield text((62, top + 13), f"{each.months:g} months", size=10.5, anchor="end")
            yield rectangle((70, top), _BARS, _BAR, stroke=0.6)
            fill = INK if each.months == horizon else "#a8a8a8"
            yield rectangle((70, top), _BARS * each.share, _BAR, fill=fill, stroke=0)
            yield text((78 + _BARS, top + 13), f"{100 * each.share:.0f} of 100", size=10.5)
        yield line((70, 4), (70, 8 + _BAR * 1.35 * len(held)), width=0.8)

    words = "; ".join(f"{100 * each.share:.0f} of 100 for {each.months:g} months or longer" for each in held)
    drawn = drawing(70 + _BARS + 76, 16 + _BAR * 1.35 * len(held), parts(), caption)
    return Figure(drawn.svg, caption, f"Followed (reverse Kaplan-Meier): {words}.")
