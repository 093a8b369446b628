"""Reading a TOML or JSON table key by key: every fault becomes a finding, and the reading goes on."""

import math
from collections.abc import Iterable, Mapping
from enum import Enum
from typing import Any, TypeVar

from riskmodel.dictionary.names import suggestion
from riskmodel.errors import Finding, Severity

Choice = TypeVar("Choice", bound=Enum)


class Fields:
    """One table being read. `sheet` is the file, `place` the table within it, `findings` the list that is added to.

    Each method takes a key, returns its value, and falls back to a neutral one after adding a finding. `finish` then
    names the keys that nobody asked for.
    """

    def __init__(self, table: Mapping[str, Any], sheet: str, place: str, findings: list[Finding]) -> None:
        self.table = table
        self.sheet = sheet
        self.place = place
        self.findings = findings
        self._asked: dict[str, None] = {}

    def __contains__(self, key: str) -> bool:
        return key in self.table

    def fault(self, key: str | None, found: str, accepted: str, rule: str) -> None:
        """Add an error about `key`, or about the table as a whole."""
        column = ".".join(part for part in (self.place, key) if part) or None
        self.findings.append(Finding(self.sheet, None, column, found, accepted, Severity.ERROR, rule))

    def raw(self, key: str) -> Any:
        """The value as written, or None."""
        self._asked[key] = None
        return self.table.get(key)

    def format(self, number: int) -> bool:
        """Whether `format` says this number, and not true or 1.0."""
        value = self.raw("format")
        if type(value) is int and value == number:
            return True
        self.fault("format", shown(value), f"format = {number}", "format")
        return False

    def text(self, key: str, default: str | None = "") -> str:
        """Text; with `default=None` the key is needed."""
        value = self.raw(key)
        if value is None:
            if default is None:
                self.fault(key, "nothing", "a text", "missing_key")
            return default or ""
        if not isinstance(value, str) or not value.strip():
            self.fault(key, shown(value), "a text", "wrong_type")
            return default or ""
        return value

    def optional(self, key: str) -> str | None:
        """Text, or None when the key is absent."""
        return self.text(key) or None

    def number(self, key: str, default: float, *, positive: bool = False) -> float:
        """A finite number, above 0 if `positive`."""
        value = self.raw(key)
        if value is None:
            return default
        if not is_number(value) or (positive and value <= 0):
            self.fault(key, shown(value), "a number above 0" if positive else "a number", "wrong_type")
            return default
        return float(value)

    def optional_number(self, key: str) -> float | None:
        """A finite number, or None when the key is absent."""
        return None if self.raw(key) is None else self.number(key, 0.0)

    def truth(self, key: str) -> bool:
        """`true` or `false`; false when the key is absent."""
        value = self.raw(key)
        if value is not None and not isinstance(value, bool):
            self.fault(key, shown(value), "true or false", "wrong_type")
        return value is True

    def pair(self, key: str) -> tuple[float, float] | None:
        """A range as [low, high], low < high; None when the key is absent."""
        value = self.raw(key)
        if value is None:
            return None
        if not (isinstance(value, list) and len(value) == 2 and all(map(is_number, value)) and value[0] < value[1]):
            self.fault(key, shown(value), "[low, high] with low < high", "bad_range")
            return None
        return float(value[0]), float(value[1])

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts, empty when the key is absent."""
        value = self.raw(key)
        if value is None:
            return ()
        if not (isinstance(value, list) and all(isinstance(part, str) and part for part in value)):
            self.fault(key, shown(value), "a list of texts", "wrong_type")
            return ()
        return tuple(value)

    def choice(self, key: str, choices: type[Choice], default: Choice | None = None) -> Choice | None:
        """One of an enumeration's values; with `default=None` the key is needed."""
        value = self.raw(key)
        if value is None:
            if default is None:
                self.fault(key, "nothing", _any_of(choices), "missing_key")
            return default
        if value not in [choice.value for choice in choices]:
            self.fault(key, shown(value), _any_of(choices), "unknown_word")
            return default
        return choices(value)

    def choices(self, key: str, choices: type[Choice]) -> tuple[Choice, ...]:
        """A list of an enumeration's values; unknown words are named and left out."""
        words = self.texts(key)
        known = [choice.value for choice in choices]
        for word in words:
            if word not in known:
                self.fault(key, word, _any_of(choices), "unknown_word")
        return tuple(choices(word) for word in words if word in known)

    def tables(self, key: str) -> "tuple[Fields, ...]":
        """A list of tables, each read with the same list of findings."""
        value = self.raw(key)
        if value is None:
            return ()
        if not (isinstance(value, list) and all(isinstance(part, dict) for part in value)):
            self.fault(key, shown(value), "a list of tables", "wrong_type")
            return ()
        return tuple(self._inner(part, f"{key}[{place}]") for place, part in enumerate(value, start=1))

    def named_tables(self, key: str) -> "dict[str, Fields]":
        """Tables under names of their own (`[key.NAME]`)."""
        value = self.raw(key)
        if value is None:
            return {}
        if not (isinstance(value, dict) and all(isinstance(part, dict) for part in value.values())):
            self.fault(key, shown(value), f"tables written as [{key}.NAME]", "wrong_type")
            return {}
        return {name: self._inner(part, f"{key}.{name}") for name, part in value.items()}

    def finish(self) -> None:
        """Name every key that was not asked for, with the nearest that would have been."""
        for key in self.table:
            if key not in self._asked:
                self.fault(None, f"the unknown key {key}", suggestion(key, self._asked), "unknown_key")

    def _inner(self, table: Mapping[str, Any], name: str) -> "Fields":
        place = f"{self.place}.{name}" if self.place else name
        return Fields(table, self.sheet, place, self.findings)


def is_number(value: object) -> bool:
    """Whether a value read from TOML or JSON is a finite number (true and false are not)."""
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def shown(value: object) -> str:
    """A value as findings show it: short, on one line."""
    if value is None:
        return "nothing"
    text = " ".join(str(value).split())
    text = f'"{text}"' if isinstance(value, str) and text.isdecimal() else text  # format = "1" is no number
    return f"{text[:57]}..." if len(text) > 60 else text or "an empty text"


def any_of(words: Iterable[str]) -> str:
    """`one of a, b, c`."""
    return "one of " + ", ".join(words)


def _any_of(choices: type[Enum]) -> str:
    return any_of(str(choice.value) for choice in choices)
