"""Where in a sheet the header stands, where the data end."""

from collections.abc import Iterator
from dataclasses import dataclass

from training.registry.cells import is_day, is_number, looks_like_data, plain, text_of
from training.registry.draft.guess import Guesses
from training.registry.sheets import Sheet, headers

_LOOKED_AT_ROWS = 20
_LEAST_KNOWN = 2


@dataclass(frozen=True, slots=True)
class Layout:
    """The header's rows, and words at the start of rows that are no children."""

    header_rows: tuple[int, ...]
    skip_words: tuple[str, ...] = ()


def find_layout(sheet: Sheet, guesses: Guesses, declared: tuple[int, ...] = ()) -> Layout | None:
    """The layout; None when no row names at least two columns that are known (and none was declared).

    A row that nobody knows is not taken for a header: it could be a child, and the map holds no child.
    """
    rows = declared or _header_rows(sheet, guesses)
    if not rows:
        return None
    return Layout(rows, tuple(dict.fromkeys(_skipped(sheet, rows, guesses))))


def _header_rows(sheet: Sheet, guesses: Guesses) -> tuple[int, ...]:
    last = min(len(sheet.rows), _LOOKED_AT_ROWS)
    single = [(row,) for row in range(1, last + 1)]
    double = [(row, row + 1) for row in range(1, last) if _may_be_two(sheet, row)]
    best = max([*single, *double], key=lambda rows: _known(sheet, rows, guesses), default=())
    return best if best and _known(sheet, best, guesses) >= _LEAST_KNOWN else ()


def _known(sheet: Sheet, rows: tuple[int, ...], guesses: Guesses) -> int:
    """Number of columns whose name under this header is known."""
    return sum(guesses.known(name) for name in headers(sheet, rows))


def _may_be_two(sheet: Sheet, row: int) -> bool:
    """Whether a row and the next can be one header: names only, and the upper one groups columns."""
    both = [cell for number in (row, row + 1) for cell in sheet.rows[number - 1] if text_of(cell)]
    names = all(not is_number(cell) and not is_day(cell) and not looks_like_data(text_of(cell)) for cell in both)
    grouped = any(top <= row <= bottom and right > left for top, bottom, left, right in sheet.merged)
    return names and bool(both) and grouped


def _skipped(sheet: Sheet, rows: tuple[int, ...], guesses: Guesses) -> Iterator[str]:
    for cells in sheet.rows[max(rows) :]:
        first = next((text for cell in cells if (text := text_of(cell))), "")
        if plain(first) in guesses.words.of("rows.totals"):
            yield plain(first)
