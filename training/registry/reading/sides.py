"""Two sides in one cell."""

import re

from riskmodel.dictionary.model import SIDES
from training.registry.cells import plain
from training.registry.mapping.model import SideRule, Unmarked
from training.registry.reading.doubt import Doubt

RIGHT, LEFT = SIDES
_MARK = re.compile(r"(?<![^\W\d_])\(?(right|left|rt|lt|r|l)\)?(?![^\W\d_])[ .:=]*")
_APART = re.compile(r"\s*[/;|]\s*|\s*,\s+")
_EDGES = " ,;/|+&"


def split_sides(text: str, rule: SideRule) -> dict[str, str]:
    """The part of the text that speaks of each side; a side that is named alone has an empty part.

    >>> split_sides("R 3.2 L 2.8", SideRule())
    {'right': '3.2', 'left': '2.8'}

    Raises
    ------
    Doubt
        When no side is named and the rule does not say what that means, or a side is named twice.
    """
    written = plain(text)
    both = next((word for word in sorted(rule.both, key=len, reverse=True) if _begins(written, plain(word))), None)
    if both is not None:
        rest = written[len(plain(both)) :].strip(_EDGES + ":=")
        return {RIGHT: rest, LEFT: rest}
    marks = list(_MARK.finditer(written))
    return _marked(written, marks) if marks else _unmarked(written, rule.unmarked)


def _begins(text: str, word: str) -> bool:
    return text == word or re.match(re.escape(word) + r"(?![^\W\d_])", text) is not None


def _marked(text: str, marks: list[re.Match[str]]) -> dict[str, str]:
    sides = [RIGHT if mark[1].startswith("r") else LEFT for mark in marks]
    if len(set(sides)) < len(sides):
        raise Doubt("each side once", "side_twice")
    if text[: marks[0].start()].strip(_EDGES):  # the side stands behind its value: 3.2 (R), 2.8 (L)
        starts = [0, *(mark.end() for mark in marks)]
        parts = [text[start : mark.start()] for start, mark in zip(starts, marks, strict=False)]
        if text[marks[-1].end() :].strip(_EDGES):
            raise Doubt("every side before its value, or every side behind it", "sides")
    else:
        ends = [*(mark.start() for mark in marks[1:]), len(text)]
        parts = [text[mark.end() : end] for mark, end in zip(marks, ends, strict=True)]
    return {side: part.strip(_EDGES) for side, part in zip(sides, parts, strict=True)}


def _unmarked(text: str, rule: Unmarked | None) -> dict[str, str]:
    if rule is None:
        accepted = 'R and L before the values, or unmarked = "both", "right_left" or "left_right" in the map'
        raise Doubt(accepted, "no_side")
    if rule is Unmarked.BOTH:
        return {RIGHT: text, LEFT: text}
    parts = _APART.split(text)
    if len(parts) != 2:
        raise Doubt("two values with / between them", "no_side")
    first, second = (RIGHT, LEFT) if rule is Unmarked.RIGHT_LEFT else (LEFT, RIGHT)
    return {first: parts[0], second: parts[1]}
