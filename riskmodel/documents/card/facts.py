"""Parts of the card that are read off the bundle: outcome, population, performance, gates, checks."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from riskmodel import eligibility
from riskmodel.bundle import COUNT_STEP, Bundle, Support
from riskmodel.dictionary.model import Variable
from riskmodel.documents.card.curves import calibration
from riskmodel.documents.card.model import (
    Check,
    GateLine,
    LevelRange,
    LikeCell,
    Listing,
    MeasureLine,
    NumberRange,
    Performance,
    Population,
    Predicted,
    UpdateLine,
)
from riskmodel.documents.words import fixed, human
from riskmodel.gates import BLOCKING
from riskmodel.like_cases import count_words

# Parts of `performance` that have a place of their own on the card.
PLACED = ("measures", "definitions", "curves", "priors")
# Columns of a listing that stand first, in this order: what it is about, then the value and its range.
FIRST = (
    "measure",
    "of",
    "kind",
    "centres",
    "children",
    "events",
    "value",
    "low",
    "high",
    "low_in_a_new_centre",
    "high_in_a_new_centre",
)
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
ADVICE_FIRST = ("verdict", "path", "reason", "stamp")
NUMBERS_OF_MEASURE = ("apparent", "harrell", "point632plus", "low", "high")


def predicted(bundle: Bundle) -> Predicted:
    """What is predicted and what it is made of."""
    definition = bundle.dictionary.outcomes.get(bundle.outcome.name)
    labels = {name: event.label for name, event in bundle.dictionary.events.items()}

    def told(names: Sequence[str]) -> tuple[str, ...]:
        return tuple(labels.get(name, human(name)) for name in names)

    rules = bundle.protocol.get("outcome", {})
    made_of = bundle.cohort.get("made_of", {})
    competes = () if definition is None else (*definition.competes, *rules.get("competes", ()))
    return Predicted(
        label=bundle.outcome.label,
        text=bundle.outcome.text,
        horizon_months=bundle.outcome.horizon_months,
        visit_window_months=float(rules.get("visit_window_months", 0.0)),
        first_of=() if definition is None else told(definition.first_of),
        competes=told(tuple(dict.fromkeys(competes))),
        never_counts=() if definition is None else told(definition.never_counts),
        seen_until=None if definition is None else human(definition.seen_until),
        made_of=tuple((labels.get(name, human(name)), str(count)) for name, count in made_of.items()),
        rate=bundle.cohort_rate,
    )


def population(bundle: Bundle) -> Population:
    """For whom the model speaks."""
    variables = bundle.dictionary.variables
    return Population(
        moment=human(bundle.gates.moment.value),
        eligible=eligibility.words(bundle.gates.only, bundle.dictionary),
        numbers=tuple(
            NumberRange(name, variables[name].label, low, high, variables[name].unit)
            for name, (low, high) in bundle.ranges.numbers.items()
            if not variables[name].levels
        ),
        levels=tuple(_levels(bundle)),
        like_cases_at_least=bundle.gates.like_cases_at_least,
        like_cases=tuple(_cells(bundle, support) for support in bundle.support),
    )


def _levels(bundle: Bundle) -> Iterator[LevelRange]:
    """Levels and, of an ordinal, steps that the cohort had."""
    variables = bundle.dictionary.variables
    for name, (low, high) in bundle.ranges.numbers.items():
        steps = variables[name].levels[int(low) : int(high) + 1]
        if steps:
            yield LevelRange(name, variables[name].label, tuple(step.label for step in steps))
    for name, codes in bundle.ranges.levels.items():
        yield LevelRange(name, variables[name].label, tuple(_level_label(variables[name], code) for code in codes))


def _cells(bundle: Bundle, support: Support) -> tuple[LikeCell, ...]:
    variables = [bundle.dictionary.variables[name] for name in support.of]
    return tuple(
        LikeCell(
            ", ".join(f"{v.label}: {_level_label(v, code)}" for v, code in zip(variables, cell.codes, strict=True)),
            count_words(cell.at_least),
        )
        for cell in support.cells
    )


def _level_label(variable: Variable, code: str) -> str:
    return next((level.label for level in variable.levels if level.code == code), human(code))


def performance(bundle: Bundle) -> Performance:
    """Every measure with its corrections, and whatever else is told about the replays."""
    held = bundle.performance
    meanings = held.get("definitions", {})
    measures = held.get("measures", {})
    order = [name for name in MEASURES if name in measures] + [name for name in measures if name not in MEASURES]
    lines = tuple(
        MeasureLine(
            name=name,
            label=MEASURES.get(name, human(name)),
            meaning=str(meanings.get(name, "")),
            **{part: measures[name].get(part) for part in NUMBERS_OF_MEASURE},
            reason=measures[name].get("reason"),
        )
        for name in order
    )
    rest = {name: part for name, part in held.items() if name not in PLACED}
    records = {name: part for name, part in rest.items() if _are_records(part)}
    plain = {name: part for name, part in rest.items() if name not in records}
    listings = tuple(_listing(name, part) for name, part in records.items())
    return Performance(lines, calibration(bundle), listings, pairs(plain))


def _are_records(part: object) -> bool:
    return isinstance(part, list | tuple) and bool(part) and all(isinstance(record, Mapping) for record in part)


def _listing(name: str, records: Sequence[Mapping[str, Any]]) -> Listing:
    held = dict.fromkeys(key for record in records for key in record)
    head = tuple(sorted(held, key=lambda key: FIRST.index(key) if key in FIRST else len(FIRST)))
    rows = tuple(tuple(value_words(record.get(key)) for key in head) for record in records)
    return Listing(human(name), tuple(human(key) for key in head), rows)


def advice(bundle: Bundle) -> tuple[tuple[str, str], ...]:
    """What the cohort was judged able to carry: the verdict and its reason first."""
    held = bundle.advice
    first = {name: held[name] for name in ADVICE_FIRST if name in held}
    return pairs({**first, **{name: part for name, part in held.items() if name not in first}})


def pairs(held: Mapping[str, Any], prefix: str = "") -> tuple[tuple[str, str], ...]:
    """Plain JSON as pairs of a name in words and a value in words, nested names joined."""
    return tuple(_pairs(held, prefix))


def _pairs(held: Mapping[str, Any], prefix: str) -> Iterator[tuple[str, str]]:
    for name, part in held.items():
        label = f"{prefix}: {human(name)}" if prefix else human(name)
        if isinstance(part, Mapping):
            yield from _pairs(part, label)
        else:
            yield label, value_words(part)


def value_words(value: object) -> str:
    """A plain value in words."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return fixed(value, 3)
    if isinstance(value, list | tuple):
        return "; ".join(value_words(part) for part in value) or "none"
    return str(value)


def gates(bundle: Bundle) -> tuple[GateLine, ...]:
    """What has to hold before a number is shown, and what is only said beside it."""
    moment = bundle.gates.moment.value
    asked = {
        "eligible": eligibility.words(bundle.gates.only, bundle.dictionary) or "every child",
        "range": "every measurement within what the cohort had, and every level one that it had",
        "like_cases": _like_cases(bundle),
        "moment": f"nothing in the case that is known only after the moment '{moment}'",
        "expiry": f"from {bundle.released} to {bundle.review_by}",
        "signal": "whether the predictors told more about left-out children than the rate did",
        "local_check": "whether the model was checked on local patients",
        "use": "whether it is for study, or released for local use",
        "demonstration": "whether it was made from invented data",
    }
    return tuple(GateLine(name, name in BLOCKING, says) for name, says in asked.items())


def _like_cases(bundle: Bundle) -> str:
    if not bundle.support:
        return "the protocol asks for none"
    of = ", ".join(bundle.dictionary.variables[name].label for name in bundle.support[0].of)
    return f"at least {bundle.gates.like_cases_at_least} children of the cohort with the same: {of}"


def checks(bundle: Bundle) -> tuple[Check, ...]:
    """The checks on other patients, oldest first, counts rounded down as everywhere in a bundle."""
    return tuple(
        Check(
            on=held.on,
            centre=held.centre,
            children=_rounded(held.children),
            events=_rounded(held.events),
            observed_expected=held.observed_expected,
            low=held.low,
            high=held.high,
            c=held.c,
        )
        for held in bundle.local_checks
    )


def updates(bundle: Bundle) -> tuple[UpdateLine, ...]:
    """How the model came from its parents, oldest first."""
    return tuple(
        UpdateLine(
            parent=held.parent,
            on=held.on,
            method=human(held.method),
            chosen=human(held.chosen),
            children=_rounded(held.children),
            events=_rounded(held.events),
            interval=held.interval,
            moved=tuple(f"{move.what}: {fixed(move.before, 3)} to {fixed(move.after, 3)}" for move in held.moved),
            tests=held.tests,
            facts=held.facts or "not recorded",
        )
        for held in bundle.updates
    )


def _rounded(count: int) -> str:
    return count_words(count - count % COUNT_STEP)
