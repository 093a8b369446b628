"""What is said about a whole sheet: what a table cannot keep, cells that are merged, dates that may be swapped."""

import re
from collections.abc import Iterator

from training.registry.cells import is_day, plain, text_of
from training.registry.mapping.fit import data_rows
from training.registry.mapping.model import ColumnRule, Order, SheetRule
from training.registry.sheets import Sheet, headers, letter
from training.registry.targets import Targets
from training.registry.tidying.notes import Notes, Place

_TWO_NUMBERS = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ]\d{2,4}")


def note_lost(sheet: Sheet, notes: Notes) -> None:
    """Say once per sheet what was read although hidden, and what no table keeps."""
    lost = sheet.lost
    hidden = [
        f"{count} hidden {what}"
        for count, what in ((lost.hidden_rows, "rows"), (lost.hidden_columns, "columns"))
        if count
    ]
    if hidden or lost.filtered or sheet.hidden:
        parts = [*hidden, *(["a filter"] if lost.filtered else []), *(["a hidden sheet"] if sheet.hidden else [])]
        notes.warn(Place(sheet.name), ", ".join(parts), "they were read like all others", "hidden")
    if lost.comments or lost.coloured:
        found = f"{lost.comments} comments and {lost.coloured} coloured cells"
        notes.warn(Place(sheet.name), found, "a column for what they mean; they are not carried", "comments_colours")


def check_merged(sheet: Sheet, rule: SheetRule, notes: Notes) -> None:
    """Merged cells among the data hold their value in the first cell only; the map must say what that means."""
    names = headers(sheet, rule.header_rows)
    carried = {column.header for column in rule.columns if column.to}
    rows = data_rows(sheet, rule)
    for top, bottom, left, right in sheet.merged:
        touched = [name for name in names[left - 1 : right] if name in carried and name not in rule.fill_merged]
        if bottom < rows.start or top >= rows.stop or not touched:
            continue
        found = f"merged cells {letter(left)}{top}:{letter(right)}{bottom}, with a value in the first only"
        accepted = "cells of their own, or fill_merged in the map with this column"
        notes.fault(Place(sheet.name, top, touched[0]), found, accepted, "merged")


def check_mixed_dates(sheet: Sheet, rule: SheetRule, known: Targets, notes: Notes) -> None:
    """Dates of which the spreadsheet could read only some: it may have swapped day and month in those.

    A program that expects the other order takes 3/4/19 for a date, swapped, and leaves 25/4/19 as a text.
    """
    places = {name: place for place, name in enumerate(headers(sheet, rule.header_rows), start=1)}
    for column in rule.columns:
        if column.date.cells is not None or not _dated(column, known) or column.header not in places:
            continue
        cells = [sheet.cell(row, places[column.header]) for row in data_rows(sheet, rule)]
        days = [text_of(cell)[8:10] for cell in cells if is_day(cell)]
        texts = [text_of(cell) for cell in cells if not is_day(cell)]
        strange = sum(_beyond(texts, column.date.order))
        if days and strange and all(int(day) <= 12 for day in days):
            found = f"{len(days)} dates, no day above 12, beside {strange} texts that are dates of the other order"
            accepted = 'date_cells = "as_they_are" or "swapped" in the map, after a look at a few'
            notes.fault(Place(sheet.name, None, column.header), found, accepted, "mixed_dates")


def _dated(column: ColumnRule, known: Targets) -> bool:
    return bool(column.to) and (known[column.to[0]].dated or column.reads.value == "birth_date")


def _beyond(texts: list[str], order: Order | None) -> Iterator[bool]:
    """Whether each text is a date that a program of the other order could not read."""
    for text in texts:
        found = _TWO_NUMBERS.fullmatch(plain(text))
        if found is not None:
            first, second = int(found[1]), int(found[2])
            yield (order is not Order.MONTH_FIRST and first > 12) or (order is Order.MONTH_FIRST and second > 12)
