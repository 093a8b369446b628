"""Frozen values as plain JSON: the machine's rendering of every summary."""

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any

import numpy as np


def plain(value: object) -> Any:
    """Dataclasses as mappings, enums as their words, dates as ISO 8601, arrays and tuples as lists.

    Raises
    ------
    TypeError
        For anything that JSON has no word for.
    """
    if isinstance(value, Enum):
        return value.value
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, Mapping):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain(part) for part in value]
    if is_dataclass(value):
        return {spot.name: plain(getattr(value, spot.name)) for spot in fields(value)}
    raise TypeError(f"{type(value).__name__} has no place in a document")


def to_json(value: object) -> str:
    """The value as indented JSON with a newline at the end; no NaN."""
    return json.dumps(plain(value), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
