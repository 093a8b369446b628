"""The model card as frozen values: everything that it says, made from a bundle alone."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from riskmodel.drawing import Calibration, Effect


@dataclass(frozen=True, slots=True)
class Identity:
    """Which model this is. `digest` is the bundle's; `parents` the digests of the models that it came from."""

    id: str
    title: str
    demonstration: bool
    use: str
    released: date
    review_by: date
    digest: str
    parents: tuple[str, ...]
    made_with: Mapping[str, str]
    dictionary: str


@dataclass(frozen=True, slots=True)
class Predicted:
    """What is predicted. `rate` in [0, 1] is the cohort's, by the horizon; `made_of` counts the first events, rounded.

    `horizon_months` and `seen_until` are None for a plain yes/no outcome.
    """

    label: str
    text: str
    horizon_months: float | None
    visit_window_months: float
    first_of: tuple[str, ...]
    competes: tuple[str, ...]
    never_counts: tuple[str, ...]
    seen_until: str | None
    made_of: tuple[tuple[str, str], ...]
    rate: float


@dataclass(frozen=True, slots=True)
class NumberRange:
    """Where the cohort had children, five deep; outside, no number is given."""

    variable: str
    label: str
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class LevelRange:
    """The levels that at least five children had."""

    variable: str
    label: str
    levels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LikeCell:
    """A kind of child, its level of each variable, and how many of the cohort were of it, rounded down."""

    levels: tuple[str, ...]
    count: str


@dataclass(frozen=True, slots=True)
class LikeCases:
    """Kinds of children by the variables `of` (their labels); a kind of fewer than 5 children is not listed."""

    of: tuple[str, ...]
    cells: tuple[LikeCell, ...]


@dataclass(frozen=True, slots=True)
class Population:
    """For whom the model speaks: who is eligible (empty for everyone), ranges, levels, like cases."""

    moment: str
    eligible: str
    numbers: tuple[NumberRange, ...]
    levels: tuple[LevelRange, ...]
    like_cases_at_least: int
    like_cases: tuple[LikeCases, ...]


@dataclass(frozen=True, slots=True)
class Coefficient:
    """One column of the sum, in log-odds for each step of the column.

    `column` says when it is 1, or how it is computed from the value x; `mean` is its mean over the cohort; `low` and
    `high` hold the middle 90% of the posterior draws. `prior_mean`, `prior_sd`, `prior_source`: what was believed
    before the cohort was seen, None where the bundle does not say.
    """

    term: str
    label: str
    column: str
    unit: str
    mean: float
    coefficient: float
    low: float
    high: float
    prior_mean: float | None
    prior_sd: float | None
    prior_source: str | None


@dataclass(frozen=True, slots=True)
class MeasureLine:
    """One measure of performance; `reason` says why a number is missing."""

    name: str
    label: str
    meaning: str
    apparent: float | None
    harrell: float | None
    point632plus: float | None
    low: float | None
    high: float | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class Check:
    """One check on other patients."""

    on: date
    centre: str
    children: str
    events: str
    observed_expected: float | None
    low: float | None
    high: float | None
    c: float | None


@dataclass(frozen=True, slots=True)
class GateLine:
    """One gate: whether it takes the number away, and what it asks."""

    name: str
    blocks: bool
    says: str


@dataclass(frozen=True, slots=True)
class Listing:
    """A table of what the bundle holds beside its sum, such as performance by subgroup.

    `numbers`: which columns hold numbers, from 0.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Performance:
    """What the model is worth.

    `columns`: name (a field of `MeasureLine`), heading and meaning of each way in which measures are told.
    `calibration` is None when the bundle holds no curve. `listings` and `facts`: whatever else the bundle holds, as
    tables and as pairs.
    """

    measures: tuple[MeasureLine, ...]
    columns: tuple[tuple[str, str, str], ...]
    calibration: Calibration | None
    listings: tuple[Listing, ...]
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """What the cohort was judged able to carry: pairs of a name and words, and tables; empty where nothing is held."""

    facts: tuple[tuple[str, str], ...]
    listings: tuple[Listing, ...]


@dataclass(frozen=True, slots=True)
class CohortFacts:
    """From whom the model was learned: facts, who was left out and why, and what was missing, all coarse."""

    facts: tuple[tuple[str, str], ...]
    left_out: tuple[tuple[str, str], ...]
    missing: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class UpdateLine:
    """One step from a parent to a later model; `moved` are numbers before and after, in words."""

    parent: str
    on: date
    method: str
    chosen: str
    children: str
    events: str
    interval: str
    moved: tuple[str, ...]
    tests: tuple[str, ...]
    facts: str


@dataclass(frozen=True, slots=True)
class ReportItem:
    """One item of the reporting draft; an empty text is left to be written by people."""

    number: str
    topic: str
    text: str


@dataclass(frozen=True, slots=True)
class CardSummary:
    """The whole card. `limits` comes first on every rendering."""

    format: int
    identity: Identity
    limits: tuple[str, ...]
    predicted: Predicted
    population: Population
    cohort: CohortFacts
    intercept: float
    base_log_odds: float
    base_probability: float
    coefficients: tuple[Coefficient, ...]
    effects: tuple[Effect, ...]
    performance: Performance
    advice: Advice
    gates: tuple[GateLine, ...]
    checks: tuple[Check, ...]
    updates: tuple[UpdateLine, ...]
    cautions: tuple[str, ...]
    reporting: tuple[ReportItem, ...]
    protocol: Mapping[str, Any]
