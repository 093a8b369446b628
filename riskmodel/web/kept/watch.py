"""Is a model still right here: kept answers against what became of the children, by half-year of operation."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from riskmodel.monitoring import Followed, Period, by_half_year
from riskmodel.web.kept.records import Event, Kept, KeptChild, Outcome

EVENT = {Event.YES: True, Event.NO: False, Event.UNKNOWN: None}


@dataclass(frozen=True, slots=True)
class Watched:
    """One model by its digest, and its half-years, oldest first."""

    title: str
    model: str
    digest: str
    periods: tuple[Period, ...]


def watched(held: Iterable[KeptChild], on: date) -> tuple[Watched, ...]:
    """Each model of which some child's horizon has passed.

    Of several answers to one child the last kept before the end of the month of the operation counts; answers
    without a number, and those kept after the operation, are not counted.
    """
    by_model: dict[str, dict[str, KeptChild]] = {}
    for child in held:  # the last kept comes first
        if _counts(child.kept, child.since):
            by_model.setdefault(child.kept.digest, {}).setdefault(child.kept.case_id, child)
    made = (_watched(tuple(children.values()), on) for children in by_model.values())
    return tuple(model for model in made if model.periods)


def _counts(kept: Kept, since: Outcome | None) -> bool:
    operated = since.operated if since else None
    return kept.probability is not None and operated is not None and kept.kept_on <= operated


def _watched(children: tuple[KeptChild, ...], on: date) -> Watched:
    kept = children[0].kept
    followed = [
        Followed(child.since.operated, child.kept.probability, EVENT[child.since.event])
        for child in children
        if child.since and child.since.operated and child.kept.probability is not None
    ]
    periods = by_half_year(followed, horizon_months=kept.horizon_months or 0.0, on=on)
    return Watched(kept.title, kept.model, kept.digest, periods)
