"""Plain JSON in words: what a bundle holds beside its sum is told whether or not the card knows its names."""

from collections.abc import Iterator, Mapping
from typing import Any

from riskmodel.documents.words import fixed, human


def pairs(held: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Pairs of a name in words and a value in words, nested names joined."""
    return tuple((name, value_words(value)) for name, value in leaves(held))


def leaves(held: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Each value that holds no further names, with its name in words, nested names joined: ("replays: times", 500)."""
    for name, part in held.items():
        label = f"{prefix}: {human(name)}" if prefix else human(name)
        if isinstance(part, Mapping):
            yield from leaves(part, label)
        else:
            yield label, part


def value_words(value: object) -> str:
    """A plain value in words."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return fixed(value, 3)
    if isinstance(value, list | tuple):
        return "; ".join(value_words(part) for part in value) or "none"
    return str(value)


def points(share: float) -> str:
    """A difference of probabilities in points of 100."""
    return f"{fixed(100.0 * share, 1)} points of 100"
