"""Units that a registry may use in place of the dictionary's."""

from training.registry.cells import plain
from training.registry.reading.doubt import Doubt

# Amount of the first unit of each line in each of its other units. Definitions of the metric system and of the
# calendar; an inch is 25.4 mm by definition.
_FAMILIES: tuple[dict[str, float], ...] = (
    {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4},
    {"g": 1.0, "kg": 1000.0},
    {"ml": 1.0, "l": 1000.0},
    {"degrees": 1.0},
    {"years": 12.0, "months": 1.0, "weeks": 12 / 52.1775, "days": 12 / 365.25},
)
_SPELLINGS = {
    "millimetre": "mm", "millimetres": "mm", "centimetre": "cm", "centimetres": "cm", "inch": "in", "inches": "in",
    "kgs": "kg", "kilo": "kg", "kilos": "kg", "gram": "g", "grams": "g", "gm": "g",
    "cc": "ml", "litre": "l", "litres": "l",
    "deg": "degrees", "degree": "degrees", "°": "degrees", "º": "degrees",
    "y": "years", "yr": "years", "yrs": "years", "year": "years", "yo": "years",
    "mo": "months", "mos": "months", "mth": "months", "mths": "months", "month": "months",
    "wk": "weeks", "wks": "weeks", "week": "weeks", "d": "days", "day": "days",
}  # fmt: skip


def known(unit: str) -> str | None:
    """The unit's plain name, None when it is not known here."""
    word = plain(unit).rstrip(".")
    word = _SPELLINGS.get(word, word)
    return word if any(word in family for family in _FAMILIES) else None


def factor(unit: str, into: str) -> float:
    """What a number in `unit` is multiplied by to be in `into`.

    >>> factor("cm", "mm")
    10.0

    Raises
    ------
    Doubt
        When one cannot be turned into the other.
    """
    if plain(unit) == plain(into):
        return 1.0
    first, second = known(unit), known(into)
    for family in _FAMILIES:
        if first in family and second in family:
            return family[first] / family[second]
    raise Doubt(f"a value in {into}, or in a unit that turns into {into}", "unknown_unit")
