"""Further columns of the children: size, density, laxity, movements, and what was done."""

import numpy as np

from synthetic_cohort import children, codes
from synthetic_cohort.cohort import People
from synthetic_cohort.recording import Table, flags, named, text
from synthetic_cohort.tables.cells import NOT_APPLICABLE, read, some, where, yes_no

_AGES = (1, 2, 4, 6, 8, 10, 12, 14, 16, 18)
_HEIGHTS_CM = (75, 87, 102, 115, 127, 138, 149, 160, 167, 169)  # middle of girls and boys, from memory


def more(rng: np.random.Generator, people: People) -> Table:
    """Columns for `children`, without the key."""
    body, plan, hidden = people.body, people.plan, people.hidden
    n = len(body.age_years)
    height = np.interp(body.age_years, _AGES, _HEIGHTS_CM) * (1 + 0.045 * body.height_z)
    weight = (15.8 + 0.25 * body.age_years + rng.normal(0, 1.6, n)) * (height / 100) ** 2
    density = children.DENSITY_MEAN[body.group] + children.DENSITY_SD * body.bone
    scanned = some(rng, np.where(body.group == 4, 0.8, 0.15), n)  # measured where fragility is known
    loose = np.clip(np.round(3.0 + 2.0 * (body.group == 1) + 1.8 * body.laxity), 0, 9).astype(np.int64)
    return {
        "height_cm": read(rng, height, 0.5, low=45, digits=0),
        "weight_kg": read(rng, weight, 0.1, low=4),
        "involuntary_movements": yes_no(body.movements),
        "beighton_score": where(text(loose), body.age_years < 5, NOT_APPLICABLE),
        "bone_density_z": where(read(rng, density, 0.1, low=-9), ~scanned, ""),
        "done_upper_level": named(codes.LEVELS, np.where(plan.occiput, 0, 1)),
        "done_lower_level": named(codes.LEVELS, 2 + plan.extra_levels),
        "done_construct_kind": named(codes.CONSTRUCT, plan.construct),
        "done_weaker_end_anchors": text(plan.anchors - hidden.lost_anchor),
        "done_graft_kind": named(codes.GRAFT, plan.graft),
        "done_decompression": flags(codes.DECOMPRESSION, plan.decompression),
        "done_support": named(codes.SUPPORT, plan.support),
    }
