"""From where to where a construct goes, written in one cell: `Oc-C2`, `O/C2`, `C0-C2`, `occ to C3`, `C1/2`."""

import re
from collections.abc import Sequence

from training.registry.cells import plain
from training.registry.mapping.model import ColumnRule
from training.registry.reading.doubt import Doubt

_APART = re.compile(r"\s*(?:-+>?|/|\bto\b|→|\bthrough\b)\s*")
_LETTERS = re.compile(r"([^\W\d_]+)\s*\d+")


def read_span(text: str, rule: ColumnRule, codes: Sequence[str]) -> tuple[str, str]:
    """The codes of both ends, the earlier of `codes` first.

    >>> read_span("C1/2", ColumnRule("Levels"), ("O", "C1", "C2"))
    ('C1', 'C2')

    Raises
    ------
    Doubt
        When there are not two ends, one is not known, or they stand in the wrong order.
    """
    parts = _APART.split(plain(text))
    if len(parts) != 2:
        raise Doubt("two levels with a dash between them", "span")
    letters = _LETTERS.fullmatch(parts[0])
    prefix = letters[1] if letters else plain(rule.bare or "")
    first, second = (_level(part, prefix, rule, codes) for part in parts)
    if codes.index(first) >= codes.index(second):
        raise Doubt("two levels, the upper one first", "span")
    return first, second


def _level(part: str, prefix: str, rule: ColumnRule, codes: Sequence[str]) -> str:
    """One end: a word of the map, a code, or a bare number behind the letter of the other end."""
    written = f"{prefix}{part}" if part.isdigit() else part.replace(" ", "")
    said = [code for _, code in rule.codes.get(written, rule.codes.get(part, ()))]
    same = [code for code in codes if plain(code) == written]
    known = [code for code in (*said, *same) if code in codes]
    if not known:
        hint = 'bare = "C" (say) in the map' if part.isdigit() else "a line for this spelling under codes"
        raise Doubt(f"levels such as {codes[0]}-{codes[-1]}, or {hint}", "unknown_level")
    return known[0]
