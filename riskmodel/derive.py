"""Columns made from other columns by one of a few declared operations (`[[derive]]` in a protocol)."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Derivation:
    """A derived variable: `name` = `operation` applied to the variables `of`, in that order.

    `level` is used by `level_difference` and `equals` only: the code that is compared with.
    """

    name: str
    operation: str
    of: tuple[str, ...]
    level: str | None = None
