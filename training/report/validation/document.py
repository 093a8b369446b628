"""The report as JSON: every number, and null with a reason where there is none."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from riskmodel.bundle import Bundle
from riskmodel.documents.plain import plain
from training.advice import document as advice_document
from training.fitting import Trained
from training.validation import Validation
from training.validation.trees import Explained

FORMAT = 1


def document(trained: Trained, found: Validation, bundle: Bundle) -> dict[str, Any]:
    """Every number of the validation.

    It holds one number per child (how far its estimate moved between replays) and exact counts, and stays in the
    department.
    """
    held = trained.performance(trained.replays)
    return {
        "format": FORMAT,
        "demonstration": bundle.demonstration,
        "cautions": list(bundle.cautions),
        "bundle": {"id": bundle.id, "digest": bundle.digest},
        "n": len(trained.cohort),
        "events": trained.outcome.events,
        "signal": bundle.signal,
        "advice": advice_document(trained.advice),
        "leads": held["leads"],
        "measures": held["measures"],
        "replays": held["replays"],
        "instability": {
            "mean": trained.replays.mean_instability,
            "per_child": trained.replays.per_child_instability.tolist(),
        },
        "candidates": _candidates(trained),
        "curves": plain(found.curves),
        "centres": plain(found.centres),
        "era": plain(found.eras),
        "subgroups": plain(found.subgroups),
        "definitions": plain(found.definitions),
        "windows": plain(found.windows),
        "specifications": plain(found.specifications),
        "beliefs": plain(found.beliefs),
        "priors": plain(found.priors),
        "missing": plain(found.missing),
        "trees": [_trees(each) for each in found.trees],
        "meanings": held["definitions"],
    }


def _candidates(trained: Trained) -> dict[str, Any]:
    held = trained.comparison
    return {
        "compared": [
            {
                "name": each.name,
                "chosen": dict(sorted(each.chosen.items())),
                **_worth(trained.performance(each)),
            }
            for each in held.replayed
        ],
        "not_fitted": plain(held.refused),
        "shipped_against": plain(held.rivals),
    }


def _worth(held: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "leads": held["leads"],
        "measures": held["measures"],
        "replays": held["replays"],
        "instability": held["instability"],
    }


def _trees(held: Explained) -> dict[str, Any]:
    """What trees use, without the children's own values."""
    return {
        "name": held.name,
        "rounds": held.rounds,
        "learning_rate": held.learning_rate,
        "slope": held.slope,
        "importance": [
            {"column": name, "mean_absolute_contribution": float(value)}
            for name, value in zip(held.names, np.asarray(held.importance), strict=True)
        ],
        "adds_up_to": held.off,
        "reason": held.reason,
    }
