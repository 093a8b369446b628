"""What of an examination may travel with the bundle: so coarse that no child shows."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.cases.table import Floats
from riskmodel.like_cases import count_words
from training.fitting import Comparison
from training.fitting.disclosure import rounded_down
from training.metrics import TOO_FEW, Ranged
from training.validation.centres import Centres
from training.validation.curves import Curves
from training.validation.examine import Validation
from training.validation.subgroups import Subgroups

DIGITS = 3
MEASURES = {"c": "c-statistic", "observed_expected": "observed / expected", "slope": "calibration slope"}
# Shares of children are told in steps this wide: no count can be read off them.
SHARE_STEP = 0.05


def stamped(bundle: Bundle, found: Validation, comparison: Comparison) -> Bundle:
    """The bundle with further curves of its model, beliefs that its data contradict, and how it does elsewhere."""
    more = {
        "curves": {**bundle.performance.get("curves", {}), **_curves(found.curves)},
        "beliefs_that_the_data_contradict": [
            f"{held.label}: {held.words}" for held in found.beliefs if held.in_conflict
        ],
        "left_out_centres": list(_centres(found.centres)),
        "subgroups": [row for held in found.subgroups for row in _subgroup(held)],
        "price_of_the_glass_box": list(_price(comparison)),
        "spread_over_specifications": _rounded(found.specifications.spread_mean),
    }
    return replace(bundle, performance={**bundle.performance, **{name: part for name, part in more.items() if part}})


def _curves(held: Curves) -> Mapping[str, Any]:
    decision, distribution = held.decision, held.distribution
    children = distribution.events + distribution.non_events
    shares = children / max(float(children.sum()), 1e-12)
    return {
        "decision": {
            "thresholds": _list(decision.thresholds),
            "model": _list(decision.corrected),
            "treat_all": _list(decision.treat_all),
            "reason": decision.reason,
        },
        "distribution": {
            "edges": _list(distribution.edges),
            "share": [round(SHARE_STEP * round(float(share) / SHARE_STEP), 2) for share in shares],
        },
    }


def _list(values: Floats) -> list[float]:
    return [round(float(value), DIGITS) for value in values]


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, DIGITS)


def _centres(held: Centres) -> Iterator[dict[str, Any]]:
    for name, pooled in held.pooled.items():
        yield {
            "measure": MEASURES[name],
            "centres": pooled.centres,
            "value": _rounded(pooled.value),
            "low": _rounded(pooled.low),
            "high": _rounded(pooled.high),
            "low_in_a_new_centre": _rounded(pooled.new_low),
            "high_in_a_new_centre": _rounded(pooled.new_high),
        }


def _subgroup(held: Subgroups) -> Iterator[dict[str, Any]]:
    for kind in held.kinds:
        yield {
            "of": held.label,
            "kind": kind.name,
            "children": count_words(rounded_down(kind.children)),
            "events": count_words(rounded_down(kind.events)),
            "c": _told(kind.c),
            "observed_expected": _told(kind.observed_expected),
        }


def _told(held: Ranged) -> str | float:
    """The value; of too few events no exact count is told."""
    return TOO_FEW if held.value is None else round(held.value, 2)


def _price(comparison: Comparison) -> Iterator[dict[str, Any]]:
    for rival in comparison.rivals:
        if rival.is_box:
            yield {
                "against": rival.name,
                "log_loss_lost": _rounded(rival.log_loss.value.value),
                "low": _rounded(rival.log_loss.low.value),
                "high": _rounded(rival.log_loss.high.value),
            }
