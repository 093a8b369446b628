"""CSV that a spreadsheet program will not take for formulas."""

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TextIO

from riskmodel.tables.cells import Cell, as_text
from riskmodel.tables.text import guarded


def write_csv(target: str | Path | TextIO, header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """Write a table as CSV: commas, UTF-8, one line feed per row.

    Text that begins with = + - @ or a tab gets an apostrophe in front, which `read` takes off again; numbers do not.

    Parameters
    ----------
    target : a path, or an open text stream

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    if isinstance(target, str | Path):
        with Path(target).open("w", encoding="utf-8", newline="") as stream:
            write_csv(stream, header, rows)
        return
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow([guarded(name) for name in header])
    writer.writerows([guarded(cell) if isinstance(cell, str) else as_text(cell) for cell in row] for row in rows)
