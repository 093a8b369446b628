"""The construct planned for each child: it follows what was found, so worse children get stronger constructs."""

import numpy as np
from scipy.special import expit

from synthetic_cohort.children import pick
from synthetic_cohort.world import Table


def draw(rng: np.random.Generator, told: Table) -> Table:
    """Levels, construct, anchors, graft, decompression, support."""
    n = len(told["condition"])
    ring = told["atlas_ring"]
    stiff = told["reduces"] == 2
    late = (told["operation_year"] - 2017) / 10
    occiput = rng.random(n) < expit(-0.7 + 0.9 * (ring >= 3) + 0.7 * stiff + 0.8 * (told["indication"] == 2))
    longer = rng.binomial(3, 0.2, n) * (rng.random(n) < 0.5)
    kinds = np.stack([3.0 + 2 * late, 0.35 - 0.2 * late, 0.5 - 0.4 * late, 0.12 - 0.1 * late], axis=1)
    kind = pick(rng, np.maximum(kinds, 0.02))
    anchors = np.clip(rng.binomial(2, 0.8, n) + rng.binomial(1, 0.25, n) + (longer > 0), 0, 4)
    return {
        "upper_level": np.where(occiput, 0, 1),
        "lower_level": 2 + longer,
        "construct_kind": kind,
        "weaker_end_anchors": np.where(kind >= 2, np.minimum(anchors, 1), anchors),
        "graft_kind": pick(rng, np.tile([0.42, 0.28, 0.22, 0.08], (n, 1))),
        "planned_decompression": np.where(stiff, 2, 0) * (rng.random(n) < 0.6) + (rng.random(n) < 0.08),
        "planned_support": pick(rng, np.tile([0.12, 0.5, 0.23, 0.15], (n, 1))),
    }
