"""From the last round and every centre's judgement to the bundle of all centres."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle
from riskmodel.cases.table import Floats
from riskmodel.errors import SharesRefused, refuse_errors
from riskmodel.like_cases import count_words
from training.candidates import FitLog, Fitted
from training.features import Design
from training.fitting.assemble import Told, bundle_of, gain_needed
from training.fitting.disclosure import rounded_down
from training.fitting.join import joined_ranges, joined_supports
from training.fitting.performance import definitions, uncorrected
from training.meta import Pooled, random_effects
from training.metrics import SCALES, Estimate
from training.metrics.ranged import Scale
from training.posterior import Posterior
from training.protocol import Protocol
from training.sharing.agreement import Common, common, declared, learned
from training.sharing.counts import OUTCOME
from training.sharing.freeze import used_columns
from training.sharing.masking import total
from training.sharing.model import FitState, Judgement, Round
from training.sharing.pool import strangers

LEFT_OUT = (
    "each centre under coefficients fitted to the others; levels, and what completes missing values, are those agreed "
    "by all centres; mean over centres by random effects, with its interval"
)
APPARENT = "each centre under the model of all, itself included, since sums were masked; mean by random effects"


@dataclass(frozen=True, slots=True)
class PooledFit:
    """The bundle of all centres, each centre's judgement, and the measures pooled over them, by name."""

    bundle: Bundle
    judgements: tuple[Judgement, ...]
    between: Mapping[str, Pooled]
    rounds: int
    masked: bool


def finish(protocol: Protocol, asked: Round, parts: Sequence[Judgement]) -> PooledFit:
    """The bundle, when every centre has judged.

    Raises
    ------
    SharesRefused
        When a file belongs to another round or protocol, or a centre is missing or twice.
    """
    refuse_errors(strangers(protocol, asked, parts), SharesRefused)
    parts = sorted(parts, key=lambda part: part.sender.centre)
    held = common(protocol)
    fitted, design = fitted_design(protocol, held, asked)
    between = {name: pooled for name in parts[0].measures if (pooled := _pooled(parts, name)) is not None}
    told = _told(protocol, asked, between, float(total([part.gain for part in parts])), parts)
    rng = np.random.default_rng(protocol.seed).spawn(3)[1]
    bundle = bundle_of(protocol, held.dictionary, design, fitted, told, rng)
    return PooledFit(bundle, tuple(parts), between, asked.number, asked.masked)


def fitted_design(protocol: Protocol, held: Common, asked: Round) -> tuple[Fitted, Design]:
    """The fit of all centres, as one that was made from rows; the design holds no child."""
    whole = next(fit for fit in asked.fits if fit.without is None)
    used = used_columns(held, asked.frozen)
    means = np.zeros(len(used))
    means[used] = whole.means
    found = _as_posterior(protocol, held, whole, used)
    coefficients = np.where(used, 0.0, held.priors.mean) * held.uses_terms
    coefficients[used] = found.mean[1:]
    fitted = Fitted(
        name=protocol.fit.choose,
        probability=np.empty(0),
        log=FitLog(asked.number),
        intercept=float(found.mean[0] - means @ coefficients),
        coefficients=coefficients,
        posterior=found,
    )
    return fitted, _design(protocol, held, asked, means)


def _design(protocol: Protocol, held: Common, asked: Round, means: Floats) -> Design:
    return Design(
        recipe=declared(protocol, held, asked.frozen).recipe,
        columns=np.empty((0, len(means))),
        column_means=means,
        priors=held.priors,
        learned=learned(asked.frozen),
        centres=np.empty((0, 0)),
        centre_sd=0.0,
    )


def _as_posterior(protocol: Protocol, held: Common, whole: FitState, used: NDArray[np.bool_]) -> Posterior:
    """The grid of modes with the base in place of the intercept, as `training.posterior` writes it."""
    turn = np.eye(1 + len(whole.means))
    turn[0, 1:] = whole.means
    back = np.linalg.inv(turn)
    scales = held.priors.take(used).grid(protocol.fit.scale if held.uses_terms else "evidence")
    hessians = np.einsum("ji,gjk,kl->gil", back, whole.hessians, back)
    return Posterior(scales, whole.weights, whole.settled @ turn.T, hessians, np.empty(0), 0)


def _pooled(parts: Sequence[Judgement], name: str) -> Pooled | None:
    """A measure over the centres that could give it; None with fewer than two."""
    held = [part.measures[name] for part in parts]
    pairs = [pair for each in held if (pair := _pair(each)) is not None]
    return random_effects(*zip(*pairs, strict=True)) if len(pairs) > 1 else None


def _pair(held: Estimate) -> tuple[float, float] | None:
    return None if held.value is None or not held.standard_error else (held.value, held.standard_error)


def _told(
    protocol: Protocol, asked: Round, between: Mapping[str, Pooled], gain: float, parts: Sequence[Judgement]
) -> Told:
    sums = dict(zip(OUTCOME, asked.totals["outcome"].tolist(), strict=True))
    spans = joined_ranges([part.ranges for part in asked.counts])
    return Told(
        ranges=spans,
        support=joined_supports([part.support for part in asked.counts]),
        cohort=_facts(asked, sums),
        cohort_rate=sums["weight_of_events"] / sums["weight"],
        performance=_performance(asked, between, parts),
        signal=gain > gain_needed(int(sums["known"])),
        scored_at={p.variable: spans.numbers[p.variable][1] for p in protocol.predictors if p.score_at},
    )


def _facts(asked: Round, sums: Mapping[str, float]) -> dict[str, Any]:
    def words(name: str) -> str:
        return count_words(rounded_down(round(sums[name])))

    names = dict.fromkeys(name for part in asked.counts for name in part.missing_share)
    shares = {name: [part.missing_share[name] for part in asked.counts] for name in names}
    return {
        "children": words("children"),
        "events": words("events"),
        "known_at_horizon": words("known"),
        "centres": len(asked.centres),
        "pooled": "fitted from sums of each centre; no row left any of them",
        # The centres' plain mean: how large each one is is not told.
        "missing_share": {name: round(float(np.mean(held)), 2) for name, held in shares.items()},
    }


def _performance(asked: Round, between: Mapping[str, Pooled], parts: Sequence[Judgement]) -> dict[str, Any]:
    said = APPARENT if asked.masked else LEFT_OUT
    own = {
        "apparent": said,
        "low": "lower end of the 95% interval of the mean over centres",
        "high": "upper end of the 95% interval of the mean over centres",
        "new_centre": "95% interval of the measure in a new centre",
    }
    return {
        "measures": {name: _entry(between.get(key), scale, said) for name, (key, scale) in SCALES.items()},
        "centres": [_centre(part) for part in parts],
        "new_centre": {name: _span(between.get(key), scale) for name, (key, scale) in SCALES.items()},
        "definitions": definitions(SCALES, **own),
    }


def _entry(held: Pooled | None, scale: Scale, said: str) -> dict[str, Any]:
    if held is None:
        return uncorrected(None, "fewer than two centres could tell")
    value, low, high = (float(scale(number)) for number in (held.mean, held.low, held.high))
    return uncorrected(value, said, low=low, high=high)


def _span(held: Pooled | None, scale: Scale) -> list[float] | None:
    return None if held is None else [float(scale(held.prediction_low)), float(scale(held.prediction_high))]


def _centre(part: Judgement) -> dict[str, Any]:
    return {
        "centre": part.sender.centre,
        "children": count_words(part.children),
        "events": count_words(part.events),
        **{name: _coarse(part, name) for name in ("c", "observed_expected", "slope")},
    }


def _coarse(part: Judgement, measure: str) -> float | None:
    name, back = SCALES[measure]
    value = part.measures[name].value
    return None if value is None else round(float(back(value)), 3)
