"""Canonical JSON: the same document has the same bytes, whoever writes it."""

import json
from collections.abc import Mapping
from math import isfinite
from typing import Any


def canonical(document: Any) -> bytes:
    """UTF-8, keys sorted, one space of indent, floats as Python writes them, no NaN, a line end at the end.

    The bytes of `json.dumps(document, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False)`, many times
    faster: reading a bundle writes it again, and a clinic waits for it.

    Raises
    ------
    ValueError
        When a number is not finite.
    """
    return (_text(document, "\n") + "\n").encode()


def canonical_if_ours(document: Any) -> bytes | None:
    """The document as this program would have written it; None for what it never writes (1e999, half a character)."""
    try:
        return canonical(document)
    except ValueError:
        return None


def _text(value: Any, line: str) -> str:
    """The value as text; `line` is a line end with the indent of the place it stands in."""
    if isinstance(value, float):
        if not isfinite(value):
            raise ValueError("canonical JSON holds finite numbers only")
        return float.__repr__(value)
    inner = line + " "
    if isinstance(value, Mapping):
        if not value:
            return "{}"
        parts = [f"{_string(key)}: {_text(part, inner)}" for key, part in sorted(value.items())]
        return "{" + inner + ("," + inner).join(parts) + line + "}"
    if isinstance(value, list | tuple):
        if _plain_floats(value):
            return "[" + inner + ("," + inner).join(map(float.__repr__, value)) + line + "]"
        return "[" + inner + ("," + inner).join([_text(part, inner) for part in value]) + line + "]" if value else "[]"
    return _string(value)


def _plain_floats(values: list[Any] | tuple[Any, ...]) -> bool:
    """Whether these are finite floats and nothing else: most of a bundle is, and needs no look at each one."""
    return set(map(type, values)) == {float} and isfinite(sum(map(abs, values)))


def _string(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)
