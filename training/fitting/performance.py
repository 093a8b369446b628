"""The numbers of the validation, as plain JSON for bundle, card and report."""

from collections.abc import Iterable, Mapping
from typing import Any

from scipy.special import logit

from training.candidates import Fitted
from training.metrics import Measure, measures
from training.outcome import Outcome
from training.replay import Corrected, ReplayResult
from training.replay.result import BY_MEDIAN, LEVEL, optimism

# What each measure is, whoever made it.
MEANINGS = {
    "c": "probability that a child with the event was given the higher risk than one without, weighted for censoring",
    "observed_expected": "rate observed over mean risk given; 1 is right on average",
    "citl": "log-odds to add to every estimate to be right on average; 0 is right",
    "intercept": "intercept of the logistic recalibration, fitted together with the slope; 0 is right",
    "slope": "below 1 the estimates are too extreme, above 1 too alike",
    "slope_left_out": "slope of the estimates made of each child without the child: to be believed before the slope",
    "ici": "mean distance of the risks given from the smoothed rate of what happened; 0 is perfect",
    "e50": "median of these distances",
    "e90": "nine in ten of these distances are smaller",
    "emax": "the largest of these distances",
    "brier": "mean squared error of the estimates; 0 is perfect",
    "scaled_brier": "1 - Brier / Brier of the rate; 0 is no better than the rate",
    "log_loss": "mean of -log(probability given to what happened)",
    "r2": "Nagelkerke's R-squared of the estimates as they are",
    "r2_cox_snell": "the same before it is divided by its highest value",
    "r2_mcfadden": "1 - log-likelihood of the estimates / log-likelihood of the rate",
    "r2_tjur": "mean risk given to children with the event, less that given to children without",
    "r2_recalibrated": "Nagelkerke's R-squared after recalibration by intercept and slope",
}
# What else a bundle holds that was fitted and replayed.
OF_REPLAYS = {
    "slope": f"{MEANINGS['slope']}; the correction is the median over replays",
    "apparent": "on the children that the model was fitted to",
    "harrell": "apparent, less the mean over replays of (on the children drawn - on the whole cohort)",
    "harrell_by_mean": "Harrell's correction by the mean over replays, where `harrell` is by the median",
    "leads": "the correction to read first: .632+ for trees, and with fewer than 5 events for each learned column",
    "point632plus": "the .632+ estimate: apparent and left-out children, weighted by how much was overfitted",
    "low": f"lower end of the {LEVEL:.0%} interval: the spread over bootstrap samples, about Harrell's value",
    "high": f"upper end of the {LEVEL:.0%} interval: the spread over bootstrap samples, about Harrell's value",
    "shrunk_to_rate": "share of replays whose model gave every child nearly the same risk",
    "instability": "mean over children of how far a replay's risk lies, on average, from the model's",
}


# Below this many events for each learned column Harrell's correction of c is too kind (measured in simulated cohorts).
FEW_EVENTS_PER_COLUMN = 5.0
# SD of the log-odds; below it the slope of left-out estimates has a long tail.
LEAST_SPREAD = 0.3
WITHOUT_THE_CHILD = "made without the child: nothing to correct"


def leading(replays: ReplayResult, events: int, columns: int) -> str:
    """The correction to read first: "harrell", or "point632plus" for trees and where events are few for the columns.

    Parameters
    ----------
    columns
        Columns whose coefficients are learned.
    """
    is_sum = replays.fitted.coefficients is not None
    return "harrell" if is_sum and events >= FEW_EVENTS_PER_COLUMN * columns else "point632plus"


def performance(replays: ReplayResult, outcome: Outcome, columns: int) -> Mapping[str, Any]:
    """Every measure with its corrections and interval, what the replays were, and what the words mean.

    Parameters
    ----------
    columns
        Columns whose coefficients are learned.
    """
    told = {name: _entry(name, held, replays) for name, held in replays.measures.items() if _asked(held)}
    left_out = slope_left_out(replays.fitted, outcome)
    told["slope_left_out"] = uncorrected(left_out.value, left_out.reason or WITHOUT_THE_CHILD)
    return {
        "leads": leading(replays, outcome.events, columns),
        "measures": told,
        "replays": {
            "times": replays.times,
            "failed": dict(sorted(replays.failed.items())),
            "shrunk_to_rate": replays.shrunk_to_rate,
        },
        "instability": {"mean": replays.mean_instability},
        "definitions": definitions(told, **OF_REPLAYS),
    }


def definitions(measures: Iterable[str], **own: str) -> dict[str, str]:
    """What the words mean of a bundle that holds these measures, and what it says in words of its own."""
    return {**{name: MEANINGS[name] for name in measures if name in MEANINGS}, **own}


def uncorrected(
    value: float | None, reason: str, *, low: float | None = None, high: float | None = None
) -> dict[str, Any]:
    """The entry of a measure that has nothing to be corrected for; `reason` says why, or why there is no value."""
    return {"apparent": value, "harrell": None, "point632plus": None, "low": low, "high": high, "reason": reason}


def _asked(held: Corrected) -> bool:
    return held.apparent.value is not None or "not asked" not in (held.apparent.reason or "")


def _entry(name: str, held: Corrected, replays: ReplayResult) -> dict[str, Any]:
    parts: dict[str, Measure] = {
        "apparent": held.apparent,
        "harrell": held.harrell,
        "point632plus": held.point632plus,
        "low": held.low,
        "high": held.high,
    }
    reasons = dict.fromkeys(part.reason for part in parts.values() if part.reason is not None)
    numbers = {part: measure.value for part, measure in parts.items()}
    if name in BY_MEDIAN:
        numbers["harrell_by_mean"] = harrell_by_mean(name, replays)
    return {**numbers, "reason": "; ".join(reasons) or None}


def slope_left_out(fitted: Fitted, outcome: Outcome) -> Measure:
    """Calibration slope of the estimates made of each child without the child.

    In simulated cohorts it lies nearer to the slope among new children than Harrell's correction, which is too high
    when children are few (docs/recovery.md). Where estimates hardly differ it says nothing.
    """
    if fitted.left_out is None:
        return Measure.none("this candidate makes no estimate without the child")
    if float(logit(fitted.probability).std()) < LEAST_SPREAD:
        return Measure.none(f"the log-odds given have an SD under {LEAST_SPREAD:g}: too alike for a slope")
    return measures(outcome.label, fitted.left_out, outcome.weight, smooth=False).slope


def harrell_by_mean(name: str, replays: ReplayResult) -> float | None:
    """Harrell's correction with the mean over replays, for a measure whose correction is the median; None as there."""
    held = replays.measures[name]
    if held.apparent.value is None or held.harrell.value is None:
        return None
    return held.apparent.value - optimism(replays.per_replay[name], by_median=False)
