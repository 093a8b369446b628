"""The bundle as a frozen value; its fields are the keys of the document."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from typing import Any

from riskmodel.cases.table import Floats
from riskmodel.derive import Derivation
from riskmodel.dictionary.model import Dictionary, Moment
from riskmodel.eligibility import Requirement
from riskmodel.missing import Moments
from riskmodel.model import Model, Recipe, Stability
from riskmodel.terms import Term

FORMAT = 1
# Counts in a bundle are rounded down to multiples of this; anything below is "fewer than 5".
COUNT_STEP = 5


class Use(Enum):
    """What a bundle may be used for."""

    STUDY = "study"
    LOCAL = "local use after local check"


@dataclass(frozen=True, slots=True)
class OutcomeText:
    """What is predicted: its name and words, and the horizon (None for a plain outcome)."""

    name: str
    label: str
    horizon_months: float | None
    text: str = ""


@dataclass(frozen=True, slots=True)
class Ranges:
    """Where the cohort had children.

    (low, high) of each number, 5 children deep and rounded outward; and of each plain level predictor the levels that
    at least 5 children had.
    """

    numbers: Mapping[str, tuple[float, float]]
    levels: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class SupportCell:
    """Children known at the horizon with these codes: `at_least` this many, a multiple of 5."""

    codes: tuple[str, ...]
    at_least: int


@dataclass(frozen=True, slots=True)
class Support:
    """Like cases by a combination of variables; a cell that is not listed has fewer than 5 children."""

    of: tuple[str, ...]
    cells: tuple[SupportCell, ...]


@dataclass(frozen=True, slots=True)
class GateSettings:
    """What the gates need beside ranges and support.

    `moment` of the model; `known_later`: names of the whole dictionary that are first known after it;
    `known_else`: its other names that this model does not use (a case may hold them; they are passed over); `only`:
    who is eligible; `like_cases_at_least`: children needed in the first combination of `support`.
    """

    moment: Moment
    known_later: tuple[str, ...]
    known_else: tuple[str, ...]
    only: tuple[Requirement, ...]
    like_cases_at_least: int


@dataclass(frozen=True, slots=True)
class Published:
    """The published range of the outcome (probabilities), said in place of a number that is not shown."""

    says: str
    low: float | None
    high: float | None
    source: str


@dataclass(frozen=True, slots=True)
class LocalCheck:
    """One check on other patients: where, when, how many, observed over expected with its interval, c."""

    on: date
    centre: str
    children: int
    events: int
    observed_expected: float | None
    low: float | None
    high: float | None
    c: float | None


@dataclass(frozen=True, slots=True)
class Moved:
    """One number of the model that an update changed, such as the intercept."""

    what: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Update:
    """How a model came from its parent (named by digest): by which method, what was chosen, and what moved.

    `children` and `events` of the update's cohort, rounded down; `interval` says how the intervals were made; `tests`
    are sentences, one for each test that was made on the way; `facts` says which of the bundle's facts are of which
    cohort.
    """

    parent: str
    on: date
    method: str
    chosen: str
    children: int
    events: int
    interval: str
    tests: tuple[str, ...]
    moved: tuple[Moved, ...]
    facts: str = ""


@dataclass(frozen=True, slots=True)
class Bundle:
    """Everything that scoring, cards and checks need, and no child.

    `id` is the file stem; `parents` the digests of the bundles this one came from, oldest first; `updates` what was
    changed on the way; `made_with` name and version of the software; `protocol` the protocol's document as written;
    `cohort`, `advice` and `performance` are plain JSON for cards. `digest` is the SHA-256 of the document without it:
    proof against accident, no signature. `scored_at`: variables that
    every new child is given one value of, such as the year of the operation.
    """

    format: int
    id: str
    title: str
    demonstration: bool
    use: Use
    released: date
    review_by: date
    parents: tuple[str, ...]
    made_with: Mapping[str, str]
    protocol: Mapping[str, Any]
    dictionary: Dictionary
    outcome: OutcomeText
    terms: tuple[Term, ...]
    derive: tuple[Derivation, ...]
    intercept: float
    coefficients: Floats
    column_means: Floats
    draws: Floats
    moments: Moments
    stability: tuple[Stability, ...]
    ranges: Ranges
    support: tuple[Support, ...]
    gates: GateSettings
    cohort_rate: float
    signal: bool
    published: Published | None
    cohort: Mapping[str, Any]
    advice: Mapping[str, Any]
    performance: Mapping[str, Any]
    local_checks: tuple[LocalCheck, ...]
    updates: tuple[Update, ...]
    cautions: tuple[str, ...]
    scored_at: Mapping[str, float] = field(default_factory=dict)
    digest: str = ""

    def corrected(self, measure: str) -> float | None:
        """A measure of performance, corrected for optimism as `performance["leads"]` says, else as it was reported.

        The slope is that of left-out estimates, where there is one.
        """
        measures = self.performance.get("measures", {})
        told = [measures.get(name, {}) for name in (f"{measure}_left_out", measure)]
        ways = (self.performance.get("leads"), "harrell", "apparent")
        return next((entry[way] for entry in told for way in ways if entry.get(way) is not None), None)

    @property
    def model(self) -> Model:
        """The model to score with."""
        recipe = Recipe(self.terms, self.derive, self.dictionary, self.moments)
        return Model(
            recipe=recipe,
            intercept=self.intercept,
            coefficients=self.coefficients,
            column_means=self.column_means,
            draws=self.draws,
            stability=self.stability,
            cohort_rate=self.cohort_rate,
            signal=self.signal,
        )
