"""Numbers as people read them: whole children of 100, a true minus sign, no digit that means nothing."""

from math import ceil, floor

MINUS = "\N{MINUS SIGN}"
DASH = "\N{EN DASH}"
ABSENT = DASH
# How well a published limit or a rule of the trade is supported, by its mark in the files.
SUPPORT = {"H": "well supported", "M": "moderately supported", "L": "weakly supported"}


def fixed(value: float | None, digits: int = 2) -> str:
    """A number with so many decimals; a dash when there is none. A rounded zero has no sign."""
    if value is None:
        return ABSENT
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def signed(value: float | None, digits: int = 2) -> str:
    """A number with its sign, + or a true minus; 0 has none."""
    text = fixed(value, digits)
    return text if value is None or text.startswith(MINUS) or float(text) == 0.0 else f"+{text}"


def short(value: float) -> str:
    """A number with no more digits than it was given."""
    return f"{value:g}".replace("-", MINUS)


def span(low: float, high: float, unit: str = "") -> str:
    """A range: "2 to 14 mm"."""
    return f"{short(low)} to {short(high)}" + (f" {unit}" if unit else "")


def of_100(probability: float) -> str:
    """A probability in whole children of 100: "14 in 100", "fewer than 1 in 100"."""
    count = round(100.0 * probability)
    if count == 0 and probability > 0.0:
        return "fewer than 1 in 100"
    if count == 100 and probability < 1.0:
        return "more than 99 in 100"
    return f"{count} in 100"


def outward(low: float, high: float) -> tuple[int, int]:
    """A range of probabilities in whole children of 100, rounded outward; 0.27 of 100 children is 27 and not 28.

    >>> outward(0.017, 0.27)
    (1, 27)
    """
    return floor(100.0 * low + 1e-9), ceil(100.0 * high - 1e-9)


def human(name: str) -> str:
    """A name of a file format as words: "shrunk_to_rate" becomes "shrunk to rate"."""
    return name.replace("_", " ")
