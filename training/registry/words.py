"""The shipped lists of words: how registries spell headers, levels, yes and no, and nothing."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from riskmodel.dictionary.model import Dictionary
from riskmodel.dictionary.names import points_at_person
from training.registry.cells import plain

FOLDER = Path(__file__).parent / "synonyms"
SIDE = "{side}"

By = Mapping[str, str]
"""What each word, made plain, stands for."""


@dataclass(frozen=True, slots=True)
class Span:
    """Two variables for the ends of what one column gives, its headers, and the letter before bare numbers."""

    to: tuple[str, ...]
    headers: frozenset[str]
    bare: str | None


@dataclass(frozen=True, slots=True)
class Later:
    """What registries call later operations; `codes`: each word's meaning."""

    headers: frozenset[str]
    codes: By
    every: str | None
    earlier_in: str | None


@dataclass(frozen=True, slots=True)
class Words:
    """All lists for one dictionary.

    `headers`: variable by header; `spellings`: code by word, for each variable; `ambiguous`: the codes that a word may
    mean; `flags`: variable and flag by header; `status`: what a status with a year speaks for, and
    its final codes.
    """

    headers: By
    paired: By
    spans: tuple[Span, ...]
    spellings: Mapping[str, By]
    ambiguous: Mapping[str, Mapping[str, tuple[str, ...]]]
    flags: Mapping[str, tuple[str, str]]
    question_mark: By
    status: Mapping[str, tuple[str, tuple[str, ...]]]
    later: Later
    general: Mapping[str, frozenset[str]]

    def of(self, kind: str) -> frozenset[str]:
        """A list that holds for any dictionary, such as `empty.words`."""
        return self.general.get(kind, frozenset())


def names_person(header: str) -> bool:
    """Whether a column of this name would hold a direct identifier."""
    return points_at_person(header) or plain(header) in general()["headers.identifier"]


def read_words(dictionary: Dictionary) -> Words:
    """The general lists and those of the dictionary; names that the dictionary does not have are passed over."""
    own_path = FOLDER / f"{dictionary.name}.toml"
    own = tomllib.loads(own_path.read_text(encoding="utf-8")) if own_path.is_file() else {}
    return Words(
        headers=_turned(own.get("headers", {})),
        paired=_turned(own.get("paired", {})),
        spans=tuple(Span(tuple(s["to"]), _plain(s["headers"]), s.get("bare")) for s in own.get("span", [])),
        spellings={name: _turned(held) for name, held in own.get("spellings", {}).items()},
        ambiguous={
            name: {plain(word): tuple(codes) for word, codes in held.items()}
            for name, held in own.get("ambiguous", {}).items()
        },
        flags=_flags(own.get("flags", {})),
        question_mark=own.get("question_mark", {}),
        status={name: (held["as_of_to"], tuple(held["final"])) for name, held in own.get("status", {}).items()},
        later=_later(own.get("later_operations", {})),
        general=general(),
    )


def _flags(lists: Mapping[str, Mapping[str, Iterable[str]]]) -> dict[str, tuple[str, str]]:
    """Variable and flag by header."""
    return {
        plain(header): (name, code)
        for name, held in lists.items()
        for code, headers in held.items()
        for header in headers
    }


def _later(table: Mapping[str, Any]) -> Later:
    apart = ("headers", "earlier_in", "every")
    codes = _turned({meant: held for meant, held in table.items() if meant not in apart})
    return Later(_plain(table.get("headers", [])), codes, table.get("every"), table.get("earlier_in"))


def _turned(lists: Mapping[str, Iterable[str]]) -> By:
    """From the words of each code to the code of each word."""
    return {plain(word): code for code, held in lists.items() for word in held}


def _plain(held: Iterable[str]) -> frozenset[str]:
    return frozenset(map(plain, held))


@cache
def general() -> Mapping[str, frozenset[str]]:
    """The lists that hold for any dictionary, by `group.name`."""
    document: Mapping[str, Any] = tomllib.loads((FOLDER / "general.toml").read_text(encoding="utf-8"))
    return {
        f"{group}.{name}": _plain(held)
        for group, lists in document.items()
        if isinstance(lists, dict)
        for name, held in lists.items()
    }
