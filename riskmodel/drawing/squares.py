"""A hundred (or a thousand) children as plain squares, filled row by row: so many, perhaps, and the others."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from riskmodel.drawing.svg import INK, PAPER, Drawing, Point, drawing, line, rectangle

# For each total: columns, side of a square, distance between squares.
_SHAPES = {100: (10, 16.0, 20.0), 1000: (50, 6.0, 8.0)}
_MARGIN = 2.0
_HATCHES = 3


@dataclass(frozen=True, slots=True)
class Shares:
    """Of `total` children (100 or 1000) `sure` are filled and `perhaps` hatched; the others stay empty.

    Raises
    ------
    ValueError
        When the total is another, or the parts do not fit into it.
    """

    sure: int
    perhaps: int
    total: int = 100

    def __post_init__(self) -> None:
        if self.total not in _SHAPES:
            raise ValueError(f"squares stand for 100 or 1000 children; found {self.total}")
        if min(self.sure, self.perhaps, self.others) < 0:
            raise ValueError(f"{self.sure} and {self.perhaps} must be 0 or more, and {self.total} together at most")

    @property
    def others(self) -> int:
        """The rest."""
        return self.total - self.sure - self.perhaps


@lru_cache(maxsize=256)
def squares(shares: Shares, words: str) -> Drawing:
    """The squares, filled from the upper left corner along each row; `words` say the same."""
    columns, side, step = _SHAPES[shares.total]
    rows = shares.total // columns
    edges = 2 * _MARGIN - (step - side)  # no distance follows the last square
    return drawing(columns * step + edges, rows * step + edges, _parts(shares), words)


def _parts(shares: Shares) -> Iterator[str]:
    columns, side, step = _SHAPES[shares.total]
    for i in range(shares.total):
        corner = (_MARGIN + (i % columns) * step, _MARGIN + (i // columns) * step)
        if i < shares.sure:
            yield rectangle(corner, side, side, fill=INK, round_by=side / 6)
            continue
        yield rectangle(corner, side, side, fill=PAPER, round_by=side / 6)
        if i < shares.sure + shares.perhaps:
            yield from _hatching(corner, side)


def _hatching(corner: Point, side: float) -> Iterator[str]:
    """Diagonals across a square: drawn as lines, since a pattern would need an id."""
    x, y = corner
    for i in range(1, 2 * _HATCHES):
        reach = side * i / _HATCHES
        start, end = max(0.0, reach - side), min(side, reach)
        yield line((x + start, y + reach - start), (x + end, y + reach - end), width=side / 12)
