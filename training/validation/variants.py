"""How much hangs on what was decided beforehand: the shipped estimates against those of other decisions."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.metrics import Ranged, log_losses
from training.validation.refit import Examined, Refitted
from training.validation.standing import standing


@dataclass(frozen=True, slots=True)
class Variant:
    """A fit with something decided otherwise, beside the shipped one.

    `c` and `log_loss` of its left-out estimates, on the outcome that it was fitted to; `mean_risk`; `moved`, the mean
    over children of the absolute change of their risk against the shipped model, and `moved_most`, that of the child
    that moves most. None with a reason where there is no such fit.
    """

    name: str
    c: Ranged
    log_loss: float | None
    mean_risk: float | None
    moved: float | None
    moved_most: float | None
    reason: str | None = None


def variant(held: Examined, name: str, found: Refitted) -> Variant:
    """What a fit with something decided otherwise comes to.

    Raises
    ------
    TypeError
        When the fit has no left-out probabilities.
    """
    left_out, probability = found.fitted.left_out, found.fitted.probability
    if left_out is None:
        raise TypeError(f"{found.fitted.name} has no left-out probabilities to compare")
    weight = found.outcome.weight
    everyone = np.ones(len(probability), dtype=np.bool_)
    moved = np.abs(probability - held.fitted.probability)
    return Variant(
        name=name,
        c=standing(name, found.outcome, left_out, everyone).c,
        log_loss=float(weight @ log_losses(found.outcome.label, left_out) / weight.sum()),
        mean_risk=float(probability.mean()),
        moved=float(moved.mean()),
        moved_most=float(moved.max()),
    )


def refused(name: str, reason: str) -> Variant:
    """A variant that there is none of."""
    return Variant(name, Ranged.none(reason), None, None, None, None, reason)


def attempt(held: Examined, name: str, **changes: object) -> tuple[Variant, Refitted | None]:
    """Fit again with these changes (those of `Examined.again`); a variant with a reason where that is refused."""
    try:
        found = held.again(**changes)  # type: ignore[arg-type]
    except FitRefused as error:
        return refused(name, str(error)), None
    return variant(held, name, found), found


def spread(probabilities: Iterable[Floats]) -> tuple[float, float]:
    """Mean, and 90th percentile, over children of the largest less the smallest of their risks."""
    wide = np.ptp(np.stack(list(probabilities)), axis=0)
    return float(wide.mean()), float(np.quantile(wide, 0.9))
