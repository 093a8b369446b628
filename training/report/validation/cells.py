"""Cells of the report's tables: a number with its interval, or why there is none."""

from riskmodel.documents.words import fixed, of_100
from training.fitting.comparison import Difference
from training.metrics import Ranged
from training.validation.standing import Standing

STANDING_HEAD = ("children", "events", "rate", "mean risk given", "c", "observed / expected", "slope")


def ranged(held: Ranged, digits: int = 2) -> str:
    """Such as 0.72 (0.62 to 0.80), or the gist of the reason: the counts behind it stand in the same row."""
    if held.value is None:
        return (held.reason or "").split(":")[0]
    return between(held.value, held.low, held.high, digits)


def between(value: float | None, low: float | None, high: float | None, digits: int = 2) -> str:
    """A number with its interval; a dash where there is no number."""
    if value is None or low is None or high is None:
        return fixed(value, digits)
    # The interval stays on one line, below the number where a column is narrow.
    return f"{fixed(value, digits)} ({fixed(low, digits)}\u00a0to\u00a0{fixed(high, digits)})"


def difference(held: Difference, digits: int = 3) -> str:
    """A gap with its interval, or the reason."""
    if held.value.value is None:
        return held.value.reason or ""
    return between(held.value.value, held.low.value, held.high.value, digits)


def share(value: float | None) -> str:
    """A probability in children of 100; a dash where there is none."""
    return fixed(None) if value is None else of_100(value)


def points(value: float | None) -> str:
    """How far risks move, in points of 100."""
    return fixed(None if value is None else 100.0 * value, 1)


def standing(held: Standing) -> tuple[str, ...]:
    """Cells under `STANDING_HEAD`."""
    return (
        str(held.children),
        str(held.events),
        share(held.rate),
        share(held.mean_risk),
        ranged(held.c),
        ranged(held.observed_expected),
        ranged(held.slope),
    )
