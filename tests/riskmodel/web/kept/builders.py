"""Kept answers as tests need them."""

from dataclasses import replace
from datetime import date
from typing import Any

from riskmodel.web.kept import Event, Kept, Outcome


def answer(probability: float | None = 0.2) -> dict[str, Any]:
    """An answer as `riskmodel score --json` writes it, as far as keeping reads it."""
    shown = probability is not None
    interval = {"level": 0.9, "low": 0.1, "high": 0.4} if shown else None
    return {"shown": shown, "probability": probability, "interval": interval, "gates": []}


KEPT = Kept(
    id="one",
    case_id="TW-204",
    kept_by="AB",
    kept_on=date(2026, 12, 1),
    model="revision_24m",
    title="Unplanned return to theatre",
    digest="d" * 64,
    outcome="revision",
    horizon_months=24.0,
    demonstration=True,
    values={"age_years": "9.2", "condition": "down"},
    answer=answer(),
)


def kept(number: int, **changes: Any) -> Kept:
    """A further answer, of another child unless told otherwise."""
    return replace(KEPT, id=f"id-{number}", **{"case_id": f"C-{number}", **changes})


def since(event: Event, operated: date | None = date(2026, 12, 31), by: str = "CD") -> Outcome:
    """What became of a child."""
    return Outcome(event, operated, by, date(2029, 1, 15))
