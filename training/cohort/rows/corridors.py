"""What a measured corridor leaves beside a screw."""

import numpy as np

from riskmodel.cases.table import Floats
from training.cohort.rows.further import Long

Place = tuple[int, float, float, float]


def own_margins(corridors: Long) -> Floats:
    """(m,) the narrowest dimension of each corridor in mm: its width, or its height where that is known and less.

    NaN where the width was not measured.
    """
    width, height = corridors["corridor_mm"].values, corridors["corridor_height_mm"].values
    return np.where(np.isnan(width), np.nan, np.fmin(width, height))


def margins(corridors: Long, screws: Long, site: Floats) -> Floats:
    """(s,) the narrowest dimension in mm of the corridor that each screw goes through, NaN where none was measured.

    Of two corridors at one place the one measured in the reduced position counts; two of a kind are reported to the
    corridors' sheet.
    """
    held = _by_place(corridors)
    narrowest = own_margins(corridors)
    side, level = screws["screw_side"].values, screws["screw_level"].values
    places = zip(screws.child.tolist(), site.tolist(), side.tolist(), level.tolist(), strict=True)
    rows = [held.get(place) for place in places]
    return np.array([np.nan if row is None else narrowest[row] for row in rows], dtype=np.float64)


def _by_place(corridors: Long) -> dict[Place, int]:
    reduced = corridors["corridor_reduced"].values == 1
    columns = [corridors[name].values.tolist() for name in ("corridor_site", "corridor_side", "corridor_level")]
    held: dict[Place, int] = {}
    for row, place in enumerate(zip(corridors.child.tolist(), *columns, strict=True)):
        other = held.get(place)
        if other is not None and reduced[row] == reduced[other]:
            found = f"a second corridor of this site, side and level (row {corridors.sheet.numbers[other]})"
            accepted = "one row for each, or one of the two measured in the reduced position"
            corridors.sheet.cell(row, "corridor_site", found, accepted, "double_row")
        if other is None or reduced[row]:
            held[place] = row
    return held
