"""Children of elsewhere under a model: what it would have told each of them, and what became of them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel import cases as doors
from riskmodel.bundle import Bundle
from riskmodel.cases.table import CaseTable, Floats, column
from riskmodel.errors import OutcomeRefused
from riskmodel.scoring import Scorer
from training.cohort import Cohort
from training.outcome import Outcome, at_horizon
from training.outcome.horizon import FEWEST_AT_RISK
from training.protocol import Protocol

# Gates that ask about the child. The others ask about the model, or about what a cohort, unlike a case, always knows.
GATES_OF_CHILD = ("eligible", "range", "like_cases")


@dataclass(frozen=True, slots=True)
class Children:
    """n children under a model.

    `columns` (n, C) of the model's sum, holes filled as at scoring; `log_odds` and `probability` (n,) that the model
    gives them; `shown` (n,) whether the gates that ask about the child would let the number through.
    """

    bundle: Bundle
    protocol: Protocol
    cohort: Cohort
    outcome: Outcome
    columns: Floats
    log_odds: Floats
    probability: Floats
    shown: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.cohort)


def children(bundle: Bundle, protocol: Protocol, cohort: Cohort) -> Children:
    """The children of a cohort under a model."""
    model = bundle.model
    cases = _as_scored(bundle, cohort.cases)
    columns = model.recipe.expected(cases)
    return Children(
        bundle=bundle,
        protocol=protocol,
        cohort=cohort,
        outcome=at_horizon(cohort, protocol),
        columns=columns,
        log_odds=model.log_odds(columns),
        probability=model.probability(columns),
        shown=_shown(bundle, cases),
    )


def _as_scored(bundle: Bundle, cases: CaseTable) -> CaseTable:
    """The cases with every variable that the model reads, its era as at scoring."""
    fixed = {name: column(np.full(len(cases), value)) for name, value in bundle.scored_at.items()}
    return doors.with_missing(cases, bundle.dictionary.variables).with_columns(fixed)


def _shown(bundle: Bundle, cases: CaseTable) -> NDArray[np.bool_]:
    held = Scorer(bundle).arrays(cases, on=bundle.released).gates
    shown: NDArray[np.bool_] = np.all([gate.passed for gate in held if gate.name in GATES_OF_CHILD], axis=0)
    return shown


def enough_to_check(outcome: Outcome) -> None:
    """Whether anything can be said of a model by these children.

    Raises
    ------
    OutcomeRefused
        When the outcome is of one kind only, or fewer than 10 children are still followed at the horizon.
    """
    when = "" if outcome.horizon_months is None else f" at {outcome.horizon_months:g} months"
    if min(outcome.events, outcome.non_events) < 1:
        raise OutcomeRefused(
            f"a check needs at least 1 known event and 1 known non-event{when}; "
            f"found {outcome.events} and {outcome.non_events} among {len(outcome)} children"
        )
    if outcome.horizon_months is not None and outcome.at_risk < FEWEST_AT_RISK:
        raise OutcomeRefused(
            f"a check needs at least {FEWEST_AT_RISK} children still followed and free just before the horizon; found "
            f"{outcome.at_risk}{when}; accepted: longer follow-up"
        )
