"""A matplotlib figure as an image inside the page: the same bytes each time, nothing fetched, no inline style at large.

The library's SVG carries styles of its own, which a strict page would not let it have; as an image inside an SVG of
ours it keeps them to itself.
"""

import base64
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from io import BytesIO

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from riskmodel.documents import blocks

PIXELS_AN_INCH = 96.0
INK, GREY, PALE = "black", "0.45", "0.85"


@contextmanager
def drawing(width: float, height: float, *, rows: int = 1, columns: int = 1) -> Iterator[tuple[Figure, list[Axes]]]:
    """A figure of so many inches with its axes, row by row; the library's settings are as before afterwards."""
    settings = mpl.rc_context(
        {
            "svg.hashsalt": "riskmodel",
            "svg.fonttype": "path",
            "text.parse_math": False,
            "font.size": 9.0,
            "axes.spines.top": False,
            "axes.spines.right": False,
            "lines.linewidth": 1.2,
            "legend.frameon": False,
        }
    )
    with settings:
        figure = Figure(figsize=(width, height), layout="constrained")
        made = figure.subplots(rows, columns, squeeze=False)
        yield figure, list(made.ravel())


def picture(figure: Figure, caption: str, words: str) -> blocks.Figure:
    """The figure for a page; call it within `drawing`."""
    buffer = BytesIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None})
    held = base64.b64encode(buffer.getvalue()).decode("ascii")
    width, height = (side * PIXELS_AN_INCH for side in figure.get_size_inches())
    size = f'width="{width:g}" height="{height:g}"'
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" {size} role="img" '
        f'aria-label="{escape(caption)}"><image {size} href="data:image/svg+xml;base64,{held}"/></svg>'
    )
    return blocks.Figure(svg, caption, words)


def side_by_side(*figures: blocks.Figure) -> blocks.Figures:
    """Figures that are read together."""
    return blocks.Figures(tuple(figures))


def few(length: int, count: int = 5) -> tuple[int, ...]:
    """A few indices of `length`, from the first to the last, evenly spread: what the words of a curve tell."""
    last = length - 1
    return tuple(dict.fromkeys(round(i * last / (count - 1)) for i in range(count)))
