"""The cohort as the bundle tells of it: rounded counts, in the order in which a reader asks for them."""

from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents.card.model import CohortFacts
from riskmodel.documents.card.pairs import pairs, value_words
from riskmodel.like_cases import share_words

ASKED = {
    "children": "children",
    "known_at_horizon": "of them known at the horizon",
    "events": "events by the horizon",
    "centres": "centres",
    "years": "years of operation (five children deep)",
    "follow_up_months_median": "median follow-up, months",
}
# Parts of `cohort` that stand elsewhere on the card, or in a table of their own.
PLACED = ("made_of", "left_out", "missing_share")


def cohort(bundle: Bundle) -> CohortFacts:
    """What the bundle tells of its cohort."""
    held = bundle.cohort
    asked = {words: _value(name, held[name]) for name, words in ASKED.items() if held.get(name) is not None}
    rest = {name: part for name, part in held.items() if name not in (*ASKED, *PLACED)}
    labels = {name: variable.label for name, variable in bundle.dictionary.variables.items()}
    missing, pooled = held.get("missing_share", {}), "pooled" in held
    return CohortFacts(
        facts=(*asked.items(), *pairs(rest)),
        left_out=tuple((reason, str(count)) for reason, count in held.get("left_out", {}).items()),
        missing=tuple((labels.get(name, name), _lacking(share, pooled=pooled)) for name, share in missing.items()),
    )


def _lacking(share: float, *, pooled: bool) -> str:
    # The share of a pooled model is the mean of its centres' shares.
    return share_words(share) + " of each centre" * (pooled and share == 0.0)


def _value(name: str, value: Any) -> str:
    if name == "years" and value:
        return f"{value[0]} to {value[-1]}"
    return value_words(value)
