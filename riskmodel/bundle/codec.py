"""Frozen values to plain JSON and back, by their type hints: the dataclasses are the format.

Nothing is guessed on the way back: a missing key, an unknown key or a value of another type is an error that names
the place. Floats are held to 9 significant digits, so that writing what was read gives the same bytes.
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from math import inf, isfinite
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import NDArray

from riskmodel.dictionary.document import from_document, to_document
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import BundleError, DictionaryRefused
from riskmodel.terms import Basis

KIND = "kind"
TAGGED = get_args(Basis)


def encode(value: object) -> Any:
    """A value as plain JSON: dataclasses as mappings, bases with their kind, arrays as lists, floats to 9 digits.

    Raises
    ------
    TypeError
        When a part is of a type that no bundle holds.
    """
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Dictionary):
        return encode(to_document(value))
    if isinstance(value, bool | str | NoneType | int):
        return value
    if isinstance(value, float):
        return float(format(value, ".9g"))
    if isinstance(value, date):
        return value.isoformat()
    return _encode_many(value)


def _encode_many(value: object) -> Any:
    if isinstance(value, np.ndarray):
        return _rounded(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): encode(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [encode(part) for part in value]
    if is_dataclass(value):
        plain = {spot.name: encode(getattr(value, spot.name)) for spot in fields(value)}
        return {KIND: kind_of(type(value)), **plain} if isinstance(value, TAGGED) else plain
    raise TypeError(f"{type(value).__name__} has no place in a bundle")


def _rounded(values: Any) -> Any:
    """Nested lists of floats, each held to 9 significant digits."""
    return [_rounded(part) for part in values] if isinstance(values, list) else float(format(values, ".9g"))


def kind_of(basis: type) -> str:
    """The word that tells bases apart in the document."""
    return basis.__name__.lower()


def decode(wanted: Any, data: Any, place: str) -> Any:
    """The value of type `wanted` that `data` stands for.

    Raises
    ------
    BundleError
        Naming the place, what must hold and what kind of thing was found.
    """
    if wanted is Any:
        return data
    if wanted is Dictionary:
        return _dictionary(data, place)
    origin = get_origin(wanted)
    if origin in (Union, UnionType):
        return _one_of(get_args(wanted), data, place)
    if origin is tuple:
        return _tuple(get_args(wanted), data, place)
    if origin is np.ndarray or wanted == NDArray[np.float64]:  # on CPython 3.12 numpy's alias has another origin
        return _array(data, place)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _mapping(get_args(wanted)[1], data, place)
    return _dataclass(wanted, data, place) if is_dataclass(wanted) else _plain(wanted, data, place)


def _plain(wanted: Any, data: Any, place: str) -> Any:
    if wanted is date or issubclass(wanted, Enum):
        return _from_word(wanted, _held(str, data, place), place)
    if wanted is float and isinstance(data, float | int) and not isinstance(data, bool):
        return _number(data, place)
    return _held(wanted, data, place)


def _number(data: float, place: str) -> float:
    try:
        held = float(data)
    except OverflowError:  # a whole number of any length is JSON
        held = inf
    if not isfinite(held):
        raise BundleError(f"{place} must be a finite number")
    return held


def _held(wanted: type, data: Any, place: str) -> Any:
    if type(data) is not wanted:
        raise BundleError(f"{place} must be of type {wanted.__name__}; found {type(data).__name__}")
    return data


def _from_word(wanted: Any, word: str, place: str) -> Any:
    try:
        return date.fromisoformat(word) if wanted is date else wanted(word)
    except ValueError:
        raise BundleError(f"{place} must be a {wanted.__name__.lower()}; found another word") from None


def _one_of(options: tuple[Any, ...], data: Any, place: str) -> Any:
    if NoneType in options:
        rest = tuple(option for option in options if option is not NoneType)
        return None if data is None else decode(rest[0] if len(rest) == 1 else Union[rest], data, place)  # noqa: UP007
    kinds = {kind_of(option): option for option in options}
    kind = _held(dict, data, place).get(KIND)
    if not isinstance(kind, str) or kind not in kinds:
        raise BundleError(f"{place} must have a kind, one of {', '.join(kinds)}")
    return _dataclass(kinds[kind], {key: part for key, part in data.items() if key != KIND}, place)


def _tuple(parts: tuple[Any, ...], data: Any, place: str) -> Any:
    held = _held(list, data, place)
    if parts[-1] is Ellipsis:
        return tuple(decode(parts[0], part, f"{place}[{i}]") for i, part in enumerate(held))
    if len(held) != len(parts):
        raise BundleError(f"{place} must have {len(parts)} entries; found {len(held)}")
    return tuple(decode(part, value, f"{place}[{i}]") for i, (part, value) in enumerate(zip(parts, held, strict=True)))


def _array(data: Any, place: str) -> Any:
    try:
        held = np.array(_held(list, data, place), dtype=np.float64)
    except (ValueError, TypeError, OverflowError):
        raise BundleError(f"{place} must be rows of numbers, all of one length") from None
    if not np.isfinite(held).all():
        raise BundleError(f"{place} must hold finite numbers only")
    held.setflags(write=False)
    return held


def _mapping(part: Any, data: Any, place: str) -> Any:
    return {key: decode(part, value, f"{place}.{key}") for key, value in _held(dict, data, place).items()}


def _dataclass(wanted: Any, data: Any, place: str) -> Any:
    held = _held(dict, data, place)
    hints = _hints(wanted)
    lacking, strange = sorted(hints.keys() - held.keys()), sorted(held.keys() - hints.keys())
    if lacking or strange:
        told = [f"lacks {', '.join(lacking)}"] * bool(lacking) + [f"has unknown {', '.join(strange)}"] * bool(strange)
        raise BundleError(f"{place} {' and '.join(told)}; it must hold what the format asks for and no more")
    return wanted(**{name: decode(hint, held[name], f"{place}.{name}") for name, hint in hints.items()})


@cache
def _hints(wanted: Any) -> dict[str, Any]:
    hints = get_type_hints(wanted)
    return {spot.name: hints[spot.name] for spot in fields(wanted)}


def _dictionary(data: Any, place: str) -> Dictionary:
    try:
        return from_document(_held(dict, data, place))
    except DictionaryRefused as refused:
        raise BundleError(f"{place}: {refused.findings[0]}") from None
