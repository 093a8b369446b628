"""Where a cohort had children, said so that no child stands at the border."""

from math import ceil, floor

import numpy as np

from riskmodel.cases.table import Column

# Borders lie this many children deep.
DEPTH = 5


def bounds(held: Column, resolution: float, *, depth: int = DEPTH) -> tuple[float, float] | None:
    """The `depth`-th smallest and largest value that is there, rounded outward to the resolution.

    None when fewer than `depth` children have one.
    """
    values = np.sort(held.values[held.present])
    if len(values) < depth:
        return None
    # A hair inward first, so that 4.2 does not become 4.1 in binary.
    low = floor(values[depth - 1] / resolution + 1e-9) * resolution
    high = ceil(values[-depth] / resolution - 1e-9) * resolution
    return round(low, 9), round(high, 9)
