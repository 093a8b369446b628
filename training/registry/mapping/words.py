"""The two kinds of word lists in a map: words and what they stand for."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from riskmodel.dictionary.fields import Fields, shown
from training.registry.cells import plain
from training.registry.mapping.model import Assignments


def words(fields: Fields, key: str) -> Mapping[str, str]:
    """A table of texts."""
    return MappingProxyType({word: text for word, text in _table(fields, key).items() if _text(fields, word, text)})


def plain_words(fields: Fields, key: str) -> Mapping[str, str]:
    """A table of texts whose words are compared with cells, and are made plain for that."""
    return MappingProxyType({plain(word): text for word, text in words(fields, key).items()})


def codes(fields: Fields, key: str) -> Mapping[str, Assignments]:
    """A table of words, made plain, each with the code of its column's variable or with `{variable = code, ...}`."""
    held = {}
    for word, meant in _table(fields, key).items():
        if isinstance(meant, dict) and meant and all(isinstance(code, str) for code in meant.values()):
            held[plain(word)] = tuple(meant.items())
        elif _text(fields, word, meant):
            held[plain(word)] = (("", meant),)
    return MappingProxyType(held)


def _table(fields: Fields, key: str) -> dict[str, Any]:
    value = fields.raw(key)
    if value is None or isinstance(value, dict):
        return value or {}
    fields.fault(key, shown(value), f'a table of words: {key} = {{ "word" = "code" }}', "wrong_type")
    return {}


def _text(fields: Fields, word: str, text: object) -> bool:
    if isinstance(text, str):
        return True
    fields.fault(word, shown(text), 'a text in quotes, or { variable = "code" }', "wrong_type")
    return False
