"""Keys of children: as they were, as the spreadsheet damaged them, and new ones."""

import re

from training.registry.cells import Broken, RegistryCell, is_day, is_number, plain, text_of
from training.registry.mapping.model import ColumnRule, SheetRule
from training.registry.reading.doubt import Doubt
from training.registry.reading.held import Held

_POWERS = re.compile(r"\d+(?:[.,]\d+)?[eE]\+?\d+")
_EXACT_BELOW = 10**15  # a spreadsheet keeps fifteen digits


def read_key(cell: RegistryCell, rule: ColumnRule, sheet: SheetRule) -> tuple[Held, ...]:
    """The key of a row; none for an empty cell. Zeros that the spreadsheet took off are put back if the map says so.

    Raises
    ------
    Doubt
        When digits are lost for good, or the cell is a date or a broken formula.
    """
    text = text_of(cell)
    if not text or plain(text) in rule.empty or plain(text) in sheet.empty:
        return ()
    if isinstance(cell, Broken):
        raise Doubt("a formula with a result", "broken_formula")
    if is_day(cell):
        raise Doubt("a key typed as text: this one became a date", "turned_into_date")
    if _POWERS.fullmatch(text) or (is_number(cell) and _inexact(cell)):
        raise Doubt("a key with all its digits: the spreadsheet has rounded this one", "digits_lost")
    padded = text.zfill(sheet.key_digits) if sheet.key_digits and text.isdigit() else text
    return (Held(rule.to[0], padded, "" if padded == text else "leading zeros"),)


def _inexact(cell: RegistryCell) -> bool:
    return isinstance(cell, int | float) and (abs(cell) >= _EXACT_BELOW or cell != int(cell))


def bare(key: str) -> str:
    """A key without what people write now so, now so: case, blanks, signs, zeros in front of a number.

    >>> bare("TW-007") == bare("tw 7")
    True
    """
    return re.sub(r"(?<!\d)0+(?=\d)", "", re.sub(r"[\W_]", "", plain(key)))


def new_keys(keys: list[str]) -> dict[str, str]:
    """A new key for each of the registry's, numbered in the order in which they first stand there.

    >>> new_keys(["B 17", "A 3", "B 17"])
    {'B 17': 'K001', 'A 3': 'K002'}
    """
    distinct = list(dict.fromkeys(keys))
    width = max(3, len(str(len(distinct))))
    return {key: f"K{number:0{width}d}" for number, key in enumerate(distinct, start=1)}
