"""The answers of one bundle to one call as plain JSON (`riskmodel score --json`)."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.scoring import RiskEstimate

FORMAT = 1


def to_document(bundle: Bundle, answers: Sequence[RiskEstimate], *, on: date) -> dict[str, Any]:
    """Everything that was answered, with the bundle it came from and the cautions."""
    return {
        "format": FORMAT,
        "bundle": {
            "id": bundle.id,
            "digest": bundle.digest,
            "demonstration": bundle.demonstration,
            "use": bundle.use.value,
        },
        "outcome": {"name": bundle.outcome.name, "horizon_months": bundle.outcome.horizon_months},
        "on": on.isoformat(),
        "cautions": list(bundle.cautions),
        "results": [result(answer) for answer in answers],
    }


def result(answer: RiskEstimate) -> dict[str, Any]:
    """One answer. Probabilities and widths in [0, 1], contributions in log-odds; what is not shown is null."""
    plain = asdict(answer)
    interval = {"level": plain.pop("level"), "low": plain.pop("low"), "high": plain.pop("high")}
    plain["interval"] = interval if answer.shown else None
    plain["base_probability"] = answer.base_probability
    return {key: list(value) if isinstance(value, tuple) else value for key, value in plain.items()}
