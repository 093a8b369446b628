"""Centres and eras: no part under five children, the small ones pooled."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Column, Floats
from training.report.checked.hidden import LEAST

ERA_YEARS = 5
POOLED = "others"
UNSTATED = "not stated"

Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Part:
    """Some of the children, under a name."""

    name: str
    children: Places


def by_centre(centre: Column | None) -> tuple[Part, ...]:
    """The centres by name, those with fewer than five children together; none without a column of centres."""
    if centre is None:
        return ()
    names = np.array([*centre.labels, UNSTATED], dtype=object)
    codes = np.where(centre.present, centre.values, len(centre.labels)).astype(np.intp)
    parts = {str(names[code]): np.flatnonzero(codes == code) for code in np.unique(codes)}
    return _pooled(dict(sorted(parts.items())))


def _pooled(parts: Mapping[str, Places]) -> tuple[Part, ...]:
    """Small parts joined; if they are small together, the smallest of the others joins them."""
    small = {name for name, held in parts.items() if len(held) < LEAST}
    while small and len(small) < len(parts) and sum(len(parts[name]) for name in small) < LEAST:
        small.add(min((name for name in parts if name not in small), key=lambda name: len(parts[name])))
    large = [Part(name, held) for name, held in parts.items() if name not in small]
    if not small:
        return tuple(large)
    return *large, Part(POOLED, np.sort(np.concatenate([parts[name] for name in sorted(small)])))


def by_era(year: Column | None) -> tuple[Part, ...]:
    """Blocks of five years, each grown until it has five children; none without a column of years."""
    if year is None or not year.present.any():
        return ()
    stated = np.flatnonzero(year.present)
    blocks = np.floor(year.values[stated] / ERA_YEARS).astype(np.intp)
    parts: list[Part] = []
    held: list[int] = []
    for block in np.unique(blocks):
        held += stated[blocks == block].tolist()
        if len(held) >= LEAST:
            parts.append(_era(held, year.values))
            held = []
    if held:
        held += parts.pop().children.tolist() if parts else []
        parts.append(_era(held, year.values))
    return tuple(parts)


def _era(children: Sequence[int], years: Floats) -> Part:
    held = np.sort(np.array(children, dtype=np.intp))
    first, last = int(years[held].min()), int(years[held].max())
    return Part(f"{first}" if first == last else f"{first} to {last}", held)
