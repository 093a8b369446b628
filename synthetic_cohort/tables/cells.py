"""Numbers and words as cells of the further tables."""

from collections.abc import Sequence

import numpy as np

from synthetic_cohort.recording import named, text
from synthetic_cohort.records import Flags, Floats

NOT_APPLICABLE = "not_applicable"
NOT_TESTED = "not_tested"
NOT_MEASURABLE = "not_measurable"


def read(
    rng: np.random.Generator, true: Floats, reader_sd: float, *, low: float = -np.inf, digits: int = 1
) -> list[str]:
    """A reader's values of what is truly there; at least `low`."""
    seen = np.maximum(true + reader_sd * rng.standard_normal(true.shape), low)
    return text(np.round(seen, digits) if digits else np.round(seen).astype(np.int64))


def where(cells: list[str], rows: Flags, word: str) -> list[str]:
    """The cells, with `word` in the chosen rows."""
    for place in np.flatnonzero(rows).tolist():
        cells[place] = word
    return cells


def yes_no(flags: Flags) -> list[str]:
    """Words for a flag."""
    return named(("no", "yes"), flags.astype(np.int64))


def sides_word(right: Flags, left: Flags) -> list[str]:
    """none, right, left, both."""
    return named(("none", "right", "left", "both"), right.astype(np.int64) + 2 * left)


def one_of(rng: np.random.Generator, words: Sequence[str], chances: Sequence[float], n: int) -> list[str]:
    """Words drawn with these chances."""
    return named(tuple(words), np.asarray(rng.choice(len(words), size=n, p=chances), dtype=np.int64))


def some(rng: np.random.Generator, chance: Floats | float, n: int) -> Flags:
    """Whether something holds, child by child."""
    return np.asarray(rng.random(n) < chance)


def flag_words(words: Sequence[str], held: Sequence[Flags]) -> list[str]:
    """Flags joined by +, none where none holds."""
    rows = zip(*(flags.tolist() for flags in held), strict=True)
    return ["+".join(word for word, on in zip(words, row, strict=True) if on) or "none" for row in rows]
