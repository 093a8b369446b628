"""Follow-up: which visits a child kept, and what was therefore found."""

import numpy as np

from synthetic_cohort.course import EDGES, Times
from synthetic_cohort.world import Floats, Table

CLOSED: float = 2026.0  # the registry is read at the start of this year
MEAN_STAY_MONTHS: float = 95.0
LEFT_AREA_SHARE: float = 0.4


def follow(rng: np.random.Generator, told: Table, times: Times, *, censoring: float) -> Table:
    """The outcome columns, months with one decimal; status 0 no, 1 yes.

    `censoring` multiplies the rate of loss to follow-up: 0 means that every child is seen until the registry closes.
    """
    n = len(times.death)
    operated = told["operation_year"] + told["operation_part"]
    closing = (CLOSED - operated) * 12
    loss = rng.exponential(MEAN_STAY_MONTHS / censoring, n) if censoring > 0 else np.full(n, np.inf)
    end = np.minimum(np.minimum(closing, loss), np.minimum(times.death, EDGES[-1]))
    found, revision = (np.where(time <= end, time, np.inf) for time in (times.failure_found, times.revision))
    removal = np.where(times.removal <= end, times.removal, np.inf)
    scan = _last_visit(rng, end)
    scan = np.maximum(scan, np.where(np.isfinite(found), found, 0))
    scan = np.maximum(scan, np.where(np.isfinite(removal), removal, 0))
    contact = np.maximum(scan, np.where(rng.random(n) < 0.5, end, scan))
    contact = np.maximum(contact, np.where(np.isfinite(revision), revision, 0))
    left = (loss < closing) & (rng.random(n) < LEFT_AREA_SHARE)
    other = np.select([np.isfinite(removal), times.death <= end, left], [2, 1, 3], 0)
    other_at = np.where(other == 2, removal, np.where(other > 0, end, np.inf))
    contact = np.maximum(contact, np.where(other > 0, other_at, 0))
    months = {
        "fixation_failure_months": found,
        "revision_months": revision,
        "other_end_months": other_at,
        "last_scan_months": scan,
        "last_contact_months": contact,
    }
    status = {"fixation_failure": np.isfinite(found) * 1, "revision": np.isfinite(revision) * 1, "other_end": other}
    return {**status, **{name: _shown(at) for name, at in months.items()}}


def _last_visit(rng: np.random.Generator, end: Floats) -> Floats:
    late = np.clip(rng.normal(0.15, 0.25, len(end)), 0.0, 0.8)
    kept = EDGES[np.searchsorted(EDGES, end, side="right") - 1]
    seen: Floats = np.maximum(np.minimum(kept + np.where(kept > 0, late, 0), end), 0.1)
    return seen


def _shown(months: Floats) -> Floats:
    """One decimal, at least 0.1; NaN where the event never came."""
    return np.where(np.isfinite(months), np.round(np.maximum(months, 0.1), 1), np.nan)
