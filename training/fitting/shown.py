"""What the card shows beside the measures: the calibration curve, and what was held of each column beforehand."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from training.candidates import Fitted
from training.cohort import Cohort
from training.features import Design
from training.metrics import calibration_curve
from training.outcome import Outcome
from training.priors.columns import beliefs
from training.protocol import Protocol


def shown(cohort: Cohort, protocol: Protocol, outcome: Outcome, design: Design, fitted: Fitted) -> Mapping[str, Any]:
    """`curves` and `priors` of the card, as plain JSON; nothing where there is nothing to show.

    The calibration curve is that of the left-out estimates: each child's outcome against what the model says of it
    with the child itself left out, so that it does not flatter. It begins and ends five children deep.
    """
    return {"curves": _curves(cohort, outcome, fitted), "priors": _priors(cohort, protocol, design)}


def _curves(cohort: Cohort, outcome: Outcome, fitted: Fitted) -> dict[str, Any]:
    if fitted.left_out is None:
        return {}
    counted = cohort.course.known.astype(np.int64)
    held = calibration_curve(outcome.label, fitted.left_out, outcome.weight, counted)
    if held.reason is not None:
        return {}
    # The ends of the curve stand on estimates of single children until they are rounded.
    predicted, observed = np.round(held.y_prob, 2), np.round(held.observed, 3)
    points, first = np.unique(predicted, return_index=True)
    return {"calibration": {"predicted": points.tolist(), "observed": observed[first].tolist()}}


def _priors(cohort: Cohort, protocol: Protocol, design: Design) -> list[dict[str, Any]]:
    """Mean and SD (None where it is learned) of each column of which something was held, and on what grounds."""
    terms = design.recipe.terms
    columns = [(term.name, name) for term in terms for name in term.basis.names]
    told = zip(columns, beliefs(protocol, cohort.dictionary, terms), design.priors.mean, design.priors.sd, strict=True)
    return [
        {
            "term": term,
            "column": column,
            "mean": float(mean),
            "sd": None if np.isnan(sd) else float(sd),
            "source": belief.entry.source,
        }
        for (term, column), belief, mean, sd in told
        if belief is not None
    ]
