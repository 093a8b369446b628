"""The mark of a guess in a map."""

import re

CHECK = "# check"
_MARK = re.compile(r"#\s*check\b")


def marked_lines(text: str) -> tuple[int, ...]:
    """Numbers of the lines that bear the mark behind something; lines that are remarks do not count."""
    lines = enumerate(text.splitlines(), start=1)
    return tuple(number for number, line in lines if _MARK.search(line) and not line.lstrip().startswith("#"))
