"""Whose a row is: the keys of the children, and the place that a row's key has among them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.columns import texts
from riskmodel.cases.identifiers import harmless, in_key
from riskmodel.cases.sheet import Sheet
from riskmodel.dictionary.model import Dictionary, Role
from riskmodel.dictionary.roles import holder
from riskmodel.tables import RawTable

NOBODY = -1


@dataclass(frozen=True, slots=True)
class Keys:
    """The keys of n children: the name of their column, the place of each, and n."""

    name: str
    places: Mapping[str, int]
    count: int


def keys_of(children: RawTable, dictionary: Dictionary) -> Keys | None:
    """The children's keys; None where the dictionary or the table has none."""
    key = holder(dictionary, Role.KEY)
    if key is None or key.name not in children.header:
        return None
    places: dict[str, int] = {}
    for place, text in enumerate(_texts(children, key.name)):
        if text:
            places.setdefault(text, place)  # a second child of that key is an error of the children's table
    return Keys(key.name, places, len(children))


def children_of(table: RawTable, keys: Keys, sheet: Sheet) -> NDArray[np.intp]:
    """(m,) the place of each row's child, `NOBODY` for a row without a known key, which is reported."""
    held = _texts(table, keys.name)
    for row, key in enumerate(held):
        if key and key not in keys.places:
            accepted = "a key that stands in the table of children"
            found = f"{harmless(key, in_key)}, which the table of children lacks"
            sheet.cell(row, keys.name, found, accepted, "unknown_child")
    return np.array([keys.places.get(key, NOBODY) for key in held], dtype=np.intp)


def _texts(table: RawTable, name: str) -> Sequence[str]:
    if name not in table.header:  # said elsewhere
        return [""] * len(table)
    return texts(table.column(table.header.index(name)))
