"""The numbers of the validation, as plain JSON for bundle, card and report."""

from collections.abc import Mapping
from typing import Any

from training.metrics import Measure
from training.replay import Corrected, ReplayResult
from training.replay.result import LEVEL

DEFINITIONS = {
    "c": "probability that a child with the event was given the higher risk than one without, weighted for censoring",
    "observed_expected": "rate observed over mean risk given; 1 is right on average",
    "citl": "log-odds to add to every estimate to be right on average; 0 is right",
    "intercept": "intercept of the logistic recalibration, fitted together with the slope; 0 is right",
    "slope": "below 1 the estimates are too extreme; the correction is the median over replays",
    "brier": "mean squared error of the estimates; 0 is perfect",
    "scaled_brier": "1 - Brier / Brier of the rate; 0 is no better than the rate",
    "log_loss": "mean of -log(probability given to what happened)",
    "r2": "Nagelkerke's R-squared of the estimates as they are",
    "apparent": "on the children that the model was fitted to",
    "harrell": "apparent, less the mean over replays of (on the children drawn - on the whole cohort)",
    "point632plus": "the .632+ estimate: apparent and left-out children, weighted by how much was overfitted",
    "low": f"lower end of the {LEVEL:.0%} interval: the spread over bootstrap samples, about Harrell's value",
    "high": f"upper end of the {LEVEL:.0%} interval: the spread over bootstrap samples, about Harrell's value",
    "shrunk_to_rate": "share of replays whose model gave every child nearly the same risk",
    "instability": "mean over children of how far a replay's risk lies, on average, from the model's",
}


def performance(replays: ReplayResult) -> Mapping[str, Any]:
    """Every measure with its corrections and interval, what the replays were, and what the words mean."""
    return {
        "measures": {name: _entry(held) for name, held in replays.measures.items() if _asked(held)},
        "replays": {
            "times": replays.times,
            "failed": dict(sorted(replays.failed.items())),
            "shrunk_to_rate": replays.shrunk_to_rate,
        },
        "instability": {"mean": replays.mean_instability},
        "definitions": DEFINITIONS,
    }


def _asked(held: Corrected) -> bool:
    return held.apparent.value is not None or "not asked" not in (held.apparent.reason or "")


def _entry(held: Corrected) -> dict[str, Any]:
    parts: dict[str, Measure] = {
        "apparent": held.apparent,
        "harrell": held.harrell,
        "point632plus": held.point632plus,
        "low": held.low,
        "high": held.high,
    }
    reasons = dict.fromkeys(part.reason for part in parts.values() if part.reason is not None)
    return {**{name: part.value for name, part in parts.items()}, "reason": "; ".join(reasons) or None}
