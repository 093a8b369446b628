"""Numbers, lists and sources as people read them."""

from collections.abc import Iterable

# What stands in place of a source where there is none.
PRACTICE = "common practice, no source"


def told(value: float) -> str:
    """A number as short as it was given, with a true minus sign; binary dust is rounded away.

    >>> told(3.9 - 3.5), told(-95.0), told(0.0)
    ('0.4', '−95', '0')
    """
    return f"{round(value, 6) + 0.0:g}".replace("-", "\N{MINUS SIGN}")


def mm(value: float) -> str:
    """A length with its unit.

    >>> mm(4.0 - 3.5)
    '0.5 mm'
    """
    return f"{told(value)} mm"


def listed(words: Iterable[str]) -> str:
    """`a, b and c`."""
    held = list(words)
    return " and ".join([", ".join(held[:-1]), held[-1]] if len(held) > 1 else held)
