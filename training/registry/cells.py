"""Cells of a registry: as they lie in the file, and as texts that can be compared."""

import re
from dataclasses import dataclass
from datetime import date
from math import isfinite

from riskmodel.tables import Cell, as_text

ERROR_WORDS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA", "#SPILL!", "#CALC!")


@dataclass(frozen=True, slots=True)
class Broken:
    """A cell whose formula has no result: the spreadsheet's error word, or "not computed"."""

    word: str

    def __str__(self) -> str:
        return self.word


NOT_COMPUTED = Broken("a formula that was never computed")

RegistryCell = Cell | Broken

_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d", "-"))
_QUOTES = str.maketrans({**dict.fromkeys("\u2018\u2019\u00b4\u0060", "'"), **dict.fromkeys("\u201c\u201d", '"')})
_INVISIBLE = str.maketrans(dict.fromkeys("\u200b\u200c\u200d\u2060\ufeff\u00ad", ""))


def text_of(cell: RegistryCell) -> str:
    r"""The cell as trimmed text; empty for nothing. Blanks of every kind count as spaces.

    >>> text_of("\u00a04.2\u00a0mm "), text_of(3.0)
    ('4.2 mm', '3')
    """
    if isinstance(cell, Broken):
        return cell.word
    return " ".join(as_text(cell).translate(_INVISIBLE).split())


def plain(text: str) -> str:
    """The text for comparing: lower case, one kind of dash, quote and blank.

    >>> plain("C1–C2 ") == plain("c1-c2")
    True
    """
    return " ".join(text.translate(_INVISIBLE).translate(_DASHES).translate(_QUOTES).split()).casefold()


def dashes(text: str) -> str:
    """The text with one kind of dash, for reading numbers and dates."""
    return text.translate(_DASHES)


def is_day(cell: RegistryCell) -> bool:
    """Whether the spreadsheet holds the cell as a date, typed by hand or made out of something else."""
    return isinstance(cell, date)


def is_number(cell: RegistryCell) -> bool:
    """Whether the spreadsheet holds the cell as a number, and it is finite."""
    return isinstance(cell, int | float) and not isinstance(cell, bool) and isfinite(cell)


def looks_like_data(text: str) -> bool:
    """Whether a text has more of a value than of a column's name: mostly digits, or a date."""
    digits = sum(letter.isdigit() for letter in text)
    return digits > 0 and (digits * 2 >= len(text.replace(" ", "")) or bool(re.search(r"\d{4}-\d\d-\d\d|\d{5}", text)))
