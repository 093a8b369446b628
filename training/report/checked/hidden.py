"""Counts that may be shown: none under five, and none that the shown ones give away."""

from collections.abc import Iterator, Sequence

from riskmodel.bundle import COUNT_STEP
from riskmodel.like_cases import FEWER

LEAST = COUNT_STEP
NOT_SHOWN = "not shown"

Counts = Sequence[Sequence[int]]
Marks = list[list[bool]]


def shown(counts: Counts) -> tuple[tuple[str, ...], ...]:
    """A table of counts as texts: "fewer than 5" for those, and "not shown" for what would give one of them away.

    The sums of its rows and of its columns are taken to be known. A row or column with a single hidden count tells it
    by subtraction: the smallest of the others is then left out too, until none tells.

    >>> shown([[40, 7, 3], [30, 9, 8]])
    (('40', 'not shown', 'fewer than 5'), ('30', 'not shown', 'not shown'))
    """
    hidden = [[count < LEAST for count in row] for row in counts]
    while (place := _giving_away(counts, hidden)) is not None:
        hidden[place[0]][place[1]] = True
    return tuple(
        tuple(_text(count, mark) for count, mark in zip(row, marks, strict=True))
        for row, marks in zip(counts, hidden, strict=True)
    )


def one(count: int) -> str:
    """A count on its own."""
    return FEWER if count < LEAST else f"{count:,}"


def _text(count: int, hidden: bool) -> str:  # noqa: FBT001 - one cell and its mark
    if not hidden:
        return f"{count:,}"
    return FEWER if count < LEAST else NOT_SHOWN


def _giving_away(counts: Counts, hidden: Marks) -> tuple[int, int] | None:
    """The cell to hide next: the smallest shown one in a line with a single hidden one."""
    for line in _lines(len(counts), len(counts[0]) if counts else 0):
        open_cells = [(row, column) for row, column in line if not hidden[row][column]]
        if len(line) - len(open_cells) == 1 and open_cells:
            return min(open_cells, key=lambda place: counts[place[0]][place[1]])
    return None


def _lines(rows: int, columns: int) -> Iterator[list[tuple[int, int]]]:
    yield from ([(row, column) for column in range(columns)] for row in range(rows))
    yield from ([(row, column) for row in range(rows)] for column in range(columns))
