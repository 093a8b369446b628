"""Each centre in turn: everything is learned from the others, and the centre sees how it does there.

The pooled numbers speak of centres like these; the prediction interval, of one more centre.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused
from training.meta import Heterogeneity, random_effects
from training.metrics import FEWEST_EVENTS, SCALES, Estimate, Estimates, too_few_events
from training.protocol import SmallCentres
from training.validation.refit import Examined
from training.validation.standing import Standing, of, standing

RULES = {
    SmallCentres.MERGED: (
        f"centres with fewer than {FEWEST_EVENTS} events or non-events are left out together, the smallest first, "
        "until they have as many"
    ),
    SmallCentres.OBSERVED_EXPECTED: (
        f"of a centre with fewer than {FEWEST_EVENTS} events or non-events only observed / expected is told"
    ),
}
# Below this a centre's measure is the same whatever happened, as where every child is given the rate.
LEAST_ERROR = 1e-9
POOLED = ("c", "observed_expected", "slope")


@dataclass(frozen=True, slots=True)
class Pooled:
    """One measure over the centres: mean with its 95% interval, and the interval for one more centre.

    `tau2` between centres on the scale of pooling (logit c, log O/E, slope), `i2` the share of the variance that is
    between centres; `reason` where nothing could be pooled.
    """

    centres: int
    value: float | None
    low: float | None
    high: float | None
    new_low: float | None
    new_high: float | None
    tau2: float | None
    i2: float | None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Centres:
    """Leave one centre out: `rule` for small centres, each centre (or merged centres) left out, the pooled measures.

    `reason`: why nothing was left out; then everything else is empty.
    """

    rule: str
    left_out: tuple[Standing, ...]
    pooled: Mapping[str, Pooled]
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class _Left:
    """A centre left out: its standing, and its estimates on the scales of pooling."""

    standing: Standing
    estimates: Estimates
    few: bool


def leave_one_out(held: Examined) -> Centres:
    """Leave each centre out of fitting in turn, as the protocol's rule for small centres says."""
    rule = held.protocol.report.small_centres
    groups = _groups(held, rule)
    if len(groups) < 2:
        return Centres(RULES[rule], (), {}, _why_none(held))
    tried = {name: _left_out(held, name, rows) for name, rows in groups.items()}
    left = [each for each in tried.values() if isinstance(each, _Left)]
    refused = [f"{name}: {each}" for name, each in tried.items() if isinstance(each, str)]
    pooled = {name: _pooled(name, left) for name in POOLED}
    return Centres(RULES[rule], tuple(each.standing for each in left), pooled, "; ".join(refused) or None)


def _why_none(held: Examined) -> str:
    centre = held.cohort.centre
    if centre is None:
        return "the protocol names no centre"
    if len(np.unique(centre.values[centre.present])) < 2:
        return "there is only one centre to leave out"
    return "with small centres merged there is only one left: the others together have too few events"


def _groups(held: Examined, rule: SmallCentres) -> dict[str, NDArray[np.bool_]]:
    """(n,) rows of each centre or of centres left out together; a child without a centre always stays in."""
    centre = held.cohort.centre
    if centre is None:
        return {}
    rows = {centre.labels[int(code)]: centre.values == code for code in np.unique(centre.values[centre.present])}
    return _merged(held, rows) if rule is SmallCentres.MERGED else rows


def _merged(held: Examined, rows: dict[str, NDArray[np.bool_]]) -> dict[str, NDArray[np.bool_]]:
    def fewest(at: NDArray[np.bool_]) -> int:
        return min(held.outcome.ends(at))

    waiting = sorted(rows.items(), key=lambda item: (fewest(item[1]), item[0]))
    done: dict[str, NDArray[np.bool_]] = {}
    while waiting and fewest(waiting[0][1]) < FEWEST_EVENTS and len(waiting) > 1:
        (first, some), (second, more), *rest = waiting
        waiting = sorted([(f"{first} + {second}", some | more), *rest], key=lambda item: (fewest(item[1]), item[0]))
    done.update(waiting)
    return done


def _left_out(held: Examined, name: str, rows: NDArray[np.bool_]) -> _Left | str:
    counts: Floats = (~rows).astype(np.float64)
    try:
        probability = held.again(counts=counts, candidate=held.rule).fitted.probability
    except FitRefused as refused:
        return str(refused)
    known = rows & held.cohort.course.known
    found = standing(name, held.outcome, probability, known, always_ratio=True)
    few = too_few_events(*held.outcome.ends(known)) is not None
    return _Left(found, of(held.outcome, probability, known), few)


def _pooled(name: str, left: list[_Left]) -> Pooled:
    """REML with Hartung-Knapp errors, never below the usual ones: few centres that happen to agree prove little."""
    field, back = SCALES[name]
    told: list[Estimate] = [
        getattr(each.estimates, field) for each in left if not each.few or name == "observed_expected"
    ]
    values = [
        (each.value, each.standard_error)
        for each in told
        if each.value is not None and each.standard_error is not None and each.standard_error > LEAST_ERROR
    ]
    try:
        found = random_effects(
            [value for value, _ in values],
            [error for _, error in values],
            heterogeneity=Heterogeneity.REML,
            never_below_normal=True,
        )
    except FitRefused as refused:
        return Pooled(len(values), *(None,) * 7, reason=str(refused))
    return Pooled(
        centres=found.centres,
        value=float(back(found.mean)),
        low=float(back(found.low)),
        high=float(back(found.high)),
        new_low=float(back(found.prediction_low)),
        new_high=float(back(found.prediction_high)),
        tau2=found.tau2,
        i2=found.i2,
    )
