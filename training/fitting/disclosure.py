"""What a bundle may say of its cohort: ranges five children deep, counts rounded down, cells under five unnamed."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np

from riskmodel.bundle import COUNT_STEP, Ranges, Support, SupportCell
from riskmodel.cases.table import Column
from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.like_cases import count_words
from training.cohort import Cohort
from training.features import DEPTH, bounds
from training.features.build import NO_GROUP
from training.outcome import Outcome, follow_up
from training.protocol import Form, Predictor, Protocol

NOWHERE = (1.0, 0.0)


def rounded_down(count: int) -> int:
    """The largest multiple of 5 that is not above the count."""
    return count - count % COUNT_STEP


def ranges(cohort: Cohort, protocol: Protocol, *, depth: int = DEPTH) -> Ranges:
    """Where the cohort had children: numbers from the `depth`-th smallest to the `depth`-th largest value.

    Levels are those that `depth` children had, and those that have a group to borrow from.
    """
    numbers: dict[str, tuple[float, float]] = {}
    levels: dict[str, tuple[str, ...]] = {}
    for predictor in protocol.predictors:
        variable, held = cohort.dictionary.variables[predictor.variable], cohort.cases[predictor.variable]
        if variable.kind is Kind.LEVEL and predictor.form is Form.LEVELS:
            levels |= _levels(variable, predictor, held, depth)
        elif variable.kind.numeric:
            found = bounds(held, variable.resolution, depth=depth)
            # Nobody to compare with: no number lies within.
            numbers[variable.name] = found or NOWHERE
    return Ranges(numbers, levels)


def _levels(variable: Variable, predictor: Predictor, held: Column, depth: int) -> dict[str, tuple[str, ...]]:
    counts = np.bincount(held.values[held.present].astype(np.intp), minlength=len(variable.codes))
    pooled = {level.code for level in variable.levels if predictor.pooled_in and level.group != NO_GROUP}
    pairs = zip(variable.codes, counts, strict=True)
    return {variable.name: tuple(code for code, count in pairs if count >= depth or code in pooled)}


def last_values(cohort: Cohort, protocol: Protocol) -> dict[str, float]:
    """The value at which every new child is scored, for predictors that say `score_at = "last"` (the era).

    It is the upper end of the cohort's range, as far as a range may be told.
    """
    held = ranges(cohort, protocol).numbers
    return {predictor.variable: held[predictor.variable][1] for predictor in protocol.predictors if predictor.score_at}


def supports(cohort: Cohort, protocol: Protocol, outcome: Outcome) -> tuple[Support, ...]:
    """Children known at the horizon, by each combination of the protocol; cells under 5 are left out."""
    known = cohort.take(np.flatnonzero(outcome.known))
    return tuple(_support(known, combination) for combination in protocol.gates.like_cases)


def _support(cohort: Cohort, names: tuple[str, ...]) -> Support:
    held = [cohort.cases[name] for name in names]
    codes = [codes_of(cohort.dictionary.variables[name]) for name in names]
    complete = np.flatnonzero(np.all([column.present for column in held], axis=0))
    cells = Counter(
        tuple(words[int(column.values[row])] for words, column in zip(codes, held, strict=True)) for row in complete
    )
    listed = [SupportCell(cell, rounded_down(count)) for cell, count in sorted(cells.items()) if count >= COUNT_STEP]
    return Support(names, tuple(listed))


def cohort_facts(cohort: Cohort, protocol: Protocol, outcome: Outcome) -> Mapping[str, Any]:
    """Size, events, centres, follow-up and missing shares, coarse enough that no child stands out."""
    years = cohort.year.values[cohort.year.present] if cohort.year is not None else np.empty(0)
    return {
        "children": count_words(rounded_down(len(cohort))),
        "events": count_words(rounded_down(outcome.events)),
        "known_at_horizon": count_words(rounded_down(int(np.count_nonzero(outcome.known)))),
        "centres": len(cohort.centre.labels) if cohort.centre is not None else None,
        "years": [int(np.sort(years)[DEPTH - 1]), int(np.sort(years)[-DEPTH])] if len(years) >= 2 * DEPTH else None,
        "follow_up_months_median": _months(cohort),
        "left_out": {reason: count_words(rounded_down(count)) for reason, count in cohort.flow},
        "made_of": {event: count_words(rounded_down(count)) for event, count in cohort.made_of.items()},
        "missing_share": {p.variable: missing_share(cohort, p.variable) for p in protocol.predictors},
    }


def _months(cohort: Cohort) -> int | None:
    held = follow_up(cohort.course)
    return None if held is None else round(held)


def missing_share(cohort: Cohort, name: str) -> float:
    """Share of children without the variable, of rounded counts alone: fewer than 5 is 0."""
    lacking = rounded_down(int(np.count_nonzero(cohort.cases[name].missing)))
    return round(lacking / max(rounded_down(len(cohort)), COUNT_STEP), 4)
