"""CSV, with commas or semicolons, with or without a byte order mark."""

import codecs
import csv
import io
from collections.abc import Iterator
from pathlib import Path

from riskmodel.errors import TableRefused
from riskmodel.tables.gather import Record, fault, table
from riskmodel.tables.model import RawTable

FORMULA_STARTS = ("=", "+", "-", "@", "\t")
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def read_csv(path: Path) -> RawTable | None:
    """The table of a CSV file; None when it is empty.

    An apostrophe that `write_csv` set before a formula sign is taken off again.

    Raises
    ------
    TableRefused
        When the bytes are not UTF-8, quotes are never closed, or rows do not fit the header.
    """
    sheet = path.stem
    text = _decoded(path.read_bytes(), sheet)
    try:
        return table(sheet, _records(text, _delimiter(text)), ragged=True)
    except csv.Error as error:
        accepted = 'cells without line breaks, or within closed quotes ("...")'
        raise TableRefused([fault(sheet, None, f"text that is no CSV ({error})", accepted, "not_csv")]) from None


def _decoded(raw: bytes, sheet: str) -> str:
    accepted = "UTF-8 (in a spreadsheet program: save as CSV UTF-8)"
    if raw.startswith(_UTF16):
        raise TableRefused([fault(sheet, None, "UTF-16 text", accepted, "not_utf8")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = raw.count(b"\n", 0, error.start) + 1
        raise TableRefused([fault(sheet, row, "bytes that are not UTF-8", accepted, "not_utf8")]) from None
    if "\0" in text:
        raise TableRefused([fault(sheet, None, "a NUL byte: no text file", accepted, "not_utf8")])
    return text


def _delimiter(text: str) -> str:
    """Whichever of comma and semicolon splits the first line into more cells."""
    first = next((line for line in text.splitlines() if line.strip(" ,;")), "")
    widths = {mark: len(next(csv.reader([first], delimiter=mark), [])) for mark in (",", ";")}
    return ";" if widths[";"] > widths[","] else ","


def _records(text: str, delimiter: str) -> Iterator[Record]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    for number, cells in enumerate(reader, start=1):
        yield number, [_unguarded(cell) if cell[:1] == "'" else cell for cell in cells]


def guarded(text: str) -> str:
    """The text with an apostrophe before a formula sign, and before apostrophes that one follows."""
    return f"'{text}" if text.lstrip("'").startswith(FORMULA_STARTS) else text


def _unguarded(cell: str) -> str:
    return cell[1:] if cell.lstrip("'").startswith(FORMULA_STARTS) else cell
