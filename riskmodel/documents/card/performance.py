"""How well the model did, as the card tells it: measures and what they mean, then tables and facts beside them."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents.card.curves import calibration
from riskmodel.documents.card.model import Listing, MeasureLine, Performance
from riskmodel.documents.card.pairs import leaves, points, value_words
from riskmodel.documents.words import human

# Parts of `performance` that have a place of their own on the card.
PLACED = ("measures", "definitions", "curves", "priors", "simulated")
# Measures in the order in which they are read, with their names; others follow under the name that they have.
MEASURES = {
    "c": "c-statistic",
    "observed_expected": "observed / expected",
    "citl": "calibration in the large",
    "intercept": "calibration intercept",
    "slope": "calibration slope",
    "slope_left_out": "calibration slope, left-out estimates",
    "ici": "ICI",
    "e50": "E50",
    "e90": "E90",
    "emax": "Emax",
    "brier": "Brier",
    "scaled_brier": "scaled Brier",
    "log_loss": "log loss",
    "r2": "R², Nagelkerke",
    "r2_cox_snell": "R², Cox and Snell",
    "r2_mcfadden": "R², McFadden",
    "r2_tjur": "R², Tjur",
    "r2_recalibrated": "R², recalibrated",
}
NUMBERS_OF_MEASURE = ("apparent", "harrell", "point632plus", "low", "high")
# Ways of telling a measure, each with its column; where nothing is corrected there is one value.
COLUMNS = {"apparent": "apparent", "harrell": "corrected (Harrell)", "point632plus": "corrected (.632+)"}
ALONE = "value"

# Lists of records in the bundle, as tables.
LISTINGS = {
    "left_out_centres": "Centres, each by a model of the others: mean over centres with its 95% interval",
    "subgroups": "Kinds of children, by estimates made without the child itself",
    "price_of_the_glass_box": "What a model that can be read loses against boosted trees, for each left-out child",
    "centres": "Each centre, by a model of the others",
    "new_centre": "95% interval of each measure in a new centre",
}
# Columns of a listing that stand first, in this order: what it is about, then the value and its range.
FIRST = (
    "measure",
    "of",
    "kind",
    "against",
    "centre",
    "centres",
    "children",
    "events",
    "value",
    "log_loss_lost",
    "low",
    "high",
    "low_in_a_new_centre",
    "high_in_a_new_centre",
)
WORDY = ("measure", "of", "kind", "against", "centre")
LEADS = {"harrell": "Harrell's", "point632plus": ".632+"}


# What else is known to be there, by the names of its parts: how it is called, and how its value is told.
TOLD: Mapping[str, tuple[str, Callable[[Any], str]]] = {
    "leads": ("correction to read first, where there is one", lambda value: LEADS.get(value, human(str(value)))),
    "replays: times": ("replays", value_words),
    "replays: shrunk to rate": ("replays that came out as the rate", lambda value: f"{value:.0%}"),
    "instability: mean": ("from replay to replay a child's risk moves by, on average", points),
    "spread over specifications": ("between specifications a child's risk differs by, on average", points),
}


def performance(bundle: Bundle) -> Performance:
    """Every measure with its corrections, and whatever else is told about the replays."""
    held = bundle.performance
    rest = {name: part for name, part in held.items() if name not in PLACED}
    records = {name: found for name, part in rest.items() if (found := _records(name, part))}
    return Performance(
        measures=_measures(held.get("measures", {}), held.get("definitions", {})),
        columns=_columns(held.get("measures", {}), held.get("definitions", {})),
        calibration=calibration(bundle),
        listings=tuple(_listing(name, part) for name, part in records.items()),
        facts=tuple(_facts({name: part for name, part in rest.items() if name not in records})),
    )


def _measures(held: Mapping[str, Any], meanings: Mapping[str, str]) -> tuple[MeasureLine, ...]:
    order = [name for name in MEASURES if name in held] + [name for name in held if name not in MEASURES]
    return tuple(
        MeasureLine(
            name=name,
            label=MEASURES.get(name, human(name)),
            meaning=str(meanings.get(name, "")),
            **{part: held[name].get(part) for part in NUMBERS_OF_MEASURE},
            reason=held[name].get("reason"),
        )
        for name in order
    )


def _columns(held: Mapping[str, Any], meanings: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    """Name, heading and meaning of the ways of telling that hold a number for any measure; the first always."""
    used = [name for name in COLUMNS if name == "apparent" or any(each.get(name) is not None for each in held.values())]
    heads = COLUMNS if len(used) > 1 else {"apparent": ALONE}
    return tuple((name, heads[name], str(meanings.get(name, ""))) for name in used)


def _records(name: str, part: object) -> Sequence[Mapping[str, Any]]:
    """The rows of a table, where the part is one."""
    if name == "new_centre" and isinstance(part, Mapping):
        spans = {measure: part[measure] for measure in MEASURES if part.get(measure) is not None}
        return [{"measure": measure, "low": low, "high": high} for measure, (low, high) in spans.items()]
    if isinstance(part, list | tuple) and all(isinstance(record, Mapping) for record in part):
        return part
    return ()


def _listing(name: str, records: Sequence[Mapping[str, Any]]) -> Listing:
    held = dict.fromkeys(key for record in records for key in record)
    head = tuple(sorted(held, key=lambda key: FIRST.index(key) if key in FIRST else len(FIRST)))
    rows = tuple(tuple(_cell(key, record.get(key)) for key in head) for record in records)
    numbers = tuple(at for at, key in enumerate(head) if key not in WORDY)
    return Listing(LISTINGS.get(name, human(name)), tuple(MEASURES.get(key, human(key)) for key in head), rows, numbers)


def _cell(key: str, value: Any) -> str:
    named = key in ("measure", "against")
    return MEASURES.get(value, human(value)) if named else value_words(value)


def _facts(held: Mapping[str, Any]) -> Sequence[tuple[str, str]]:
    """Pairs of a name and a value in words: what is known to be there first, in its own words."""
    found = dict(leaves(held))
    known = [(words, told(found[name])) for name, (words, told) in TOLD.items() if found.get(name) is not None]
    return [*known, *((name, value_words(value)) for name, value in found.items() if name not in TOLD)]
