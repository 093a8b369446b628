"""The protocol as frozen values, one per TOML table."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import Enum
from types import MappingProxyType
from typing import Any

from riskmodel.bundle import Published
from riskmodel.derive import Derivation
from riskmodel.dictionary.model import Dictionary, Moment, OutcomeDefinition
from riskmodel.eligibility import Requirement

# What may be compared, and what may be shipped: only a sum of terms with a posterior gives a number and its interval.
CANDIDATES = ("rate", "penalised", "bias_reduced", "trees_without_interactions", "trees")
SHIPPABLE = ("rate", "penalised")
ONE_STANDARD_ERROR = "one_standard_error"


class Form(Enum):
    """How a predictor enters the sum."""

    LINEAR = "linear"
    LOG2 = "log2"
    SPLINE = "spline"
    LEVELS = "levels"
    YES_NO = "yes_no"


@dataclass(frozen=True, slots=True)
class CohortRules:
    """Where key, centre and year stand, and who is eligible."""

    key: str | None = None
    only: tuple[Requirement, ...] = ()
    centre: str | None = None
    year: str | None = None


@dataclass(frozen=True, slots=True)
class OutcomeRules:
    """Either a named outcome of the dictionary with its horizon, or a plain column and the value that counts.

    `competes` adds to what the dictionary lets compete. `censoring_by_centre`: estimate censoring centre by centre.
    `from_rows`: the outcome is made from rows of a further table, not from columns of the children's.
    """

    name: str | None = None
    horizon_months: float | None = None
    visit_window_months: float = 0.0
    competes: tuple[str, ...] = ()
    censoring_by_centre: bool = False
    column: str | None = None
    event_value: str | None = None
    published: Published | None = None
    from_rows: "FromRows | None" = None

    def extend(self, outcome: OutcomeDefinition) -> OutcomeDefinition:
        """The outcome's definition with the ends that the protocol lets compete as well, if it is the protocol's."""
        if outcome.name != self.name:
            return outcome
        return replace(outcome, competes=tuple(dict.fromkeys((*outcome.competes, *self.competes))))


@dataclass(frozen=True, slots=True)
class FromRows:
    """How rows of a further table become one value per child (declared, never implicit); options as written."""

    table: str
    options: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class Predictor:
    """One predictor and its form. `centre` and `scale` override the dictionary's; `knots` are for splines."""

    variable: str
    form: Form
    clip: tuple[float, float] | None = None
    states: tuple[str, ...] = ()
    pooled_in: str | None = None
    knots: tuple[float, ...] = ()
    centre: float | None = None
    scale: float | None = None
    reference: str | None = None
    from_rows: FromRows | None = None
    score_at: str | None = None


@dataclass(frozen=True, slots=True)
class Factor:
    """One side of an interaction: a predictor's variable, one level of it, or the negation of a yes/no."""

    variable: str
    level: str | None = None
    negated: bool = False


@dataclass(frozen=True, slots=True)
class Interaction:
    """A declared product of factors."""

    of: tuple[Factor, ...]


@dataclass(frozen=True, slots=True)
class FitRules:
    """Candidates, the rule that chooses among them, and the scale of the priors ("evidence", "flat" or a number)."""

    candidates: tuple[str, ...] = ("rate", "penalised")
    choose: str = "penalised"
    scale: str | float = "evidence"
    priors: str | None = None
    centre_sd: float | None = None


class SmallCentres(Enum):
    """What becomes of centres with few events when each centre is left out in turn."""

    MERGED = "merged"
    OBSERVED_EXPECTED = "observed_expected"


@dataclass(frozen=True, slots=True)
class ReportRules:
    """Range of thresholds for net benefit, the variables by which the report splits, and where it splits the rest.

    `small_centres`: merged, the smallest first, until they have enough events, or told by observed / expected alone.
    `era_from`: the first year of the later era; None for the middle of the cohort.
    """

    thresholds: tuple[float, float] = (0.05, 0.30)
    subgroups: tuple[str, ...] = ()
    small_centres: SmallCentres = SmallCentres.MERGED
    era_from: int | None = None


@dataclass(frozen=True, slots=True)
class GateRules:
    """When a number may be shown: combinations of variables that define like cases, and how many are needed."""

    like_cases: tuple[tuple[str, ...], ...] = ()
    like_cases_at_least: int = 10


@dataclass(frozen=True, slots=True)
class Protocol:
    """A whole protocol. `document` is the parsed TOML as written, kept for the bundle; `priors` the priors file's."""

    name: str
    title: str
    dictionary: Dictionary
    released: date
    review_by: date
    demonstration: bool
    moment: Moment
    planned_from_operation_note: bool
    seed: int
    cohort: CohortRules
    outcome: OutcomeRules
    derive: tuple[Derivation, ...]
    predictors: tuple[Predictor, ...]
    interactions: tuple[Interaction, ...]
    fit: FitRules
    replays: int
    report: ReportRules
    gates: GateRules
    document: Mapping[str, Any]
    priors: Mapping[str, Any] | None = None
