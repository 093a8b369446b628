"""Past experience with plans like these: differences of risk between plans, never one number beside another.

Two numbers side by side are a ranking. The difference between two plans comes with its 90% interval over the same
draws of the model; if it holds zero, these records cannot tell the plans apart. What follows the surgeon's judgement of
how bad a case is (graft, growth factor, support, connector, guidance, centre) is held the same in both unless asked
otherwise.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

import numpy as np

from riskmodel.bundle import Bundle
from riskmodel.cases.table import CaseTable, Floats
from riskmodel.errors import CasesRefused
from riskmodel.model import LEVEL, middle
from riskmodel.plans.core import with_plan
from riskmodel.scoring import RiskEstimate, Scorer

CANNOT_TELL = "these records cannot tell these plans apart"
NOT_AN_EFFECT = "a difference between children of the past who had such plans, not the effect of changing the plan"
CONFOUNDED = (
    "graft_kind",
    "graft_sources",
    "bmp_used",
    "planned_support",
    "planned_support_weeks",
    "cross_connector",
    "navigation",
    "centre_id",
)
Values = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class PlanValues:
    """A plan as columns of a model; `complete`: nothing of it had to be refused."""

    name: str
    columns: Values
    complete: bool = True


@dataclass(frozen=True, slots=True)
class Difference:
    """Probability under the first plan minus that under the second, in [-1, 1], with its interval.

    Not shown: the numbers are None and `says` names the gates. `held_the_same`: fields in which the plans differ and
    that were held equal.
    """

    first: str
    second: str
    difference: float | None
    low: float | None
    high: float | None
    level: float
    says: str
    held_the_same: tuple[str, ...]

    @property
    def shown(self) -> bool:
        """Whether there is a number."""
        return self.difference is not None

    @property
    def apart(self) -> bool:
        """Whether there is a number whose interval does not hold zero."""
        return self.low is not None and self.high is not None and (self.low > 0.0 or self.high < 0.0)


@dataclass(frozen=True, slots=True)
class PlanNumber:
    """The estimate under one plan, given only on demand, in the order typed."""

    plan: str
    estimate: RiskEstimate


@dataclass(frozen=True, slots=True)
class ModelRisks:
    """What one model tells of the plans; `refused`: why it could not read the case, or empty."""

    bundle_id: str
    digest: str
    title: str
    outcome: str
    horizon_months: float | None
    use: str
    demonstration: bool
    cautions: tuple[str, ...]
    differences: tuple[Difference, ...]
    numbers: tuple[PlanNumber, ...]
    refused: str = ""


@dataclass(frozen=True, slots=True)
class Asking:
    """How the models are asked: on which day, which locked fields may differ, and whether numbers are wanted."""

    on: date
    unlocked: frozenset[str] = frozenset()
    numbers: bool = False


def risks(scorer: Scorer, case: Values, plans: Sequence[PlanValues], asking: Asking) -> ModelRisks:
    """Differences between every two plans under one model, in the order typed.

    A case that the model cannot read gives no number and says why: everything else of the page stands.
    """
    whole, held = hold_the_same(case, plans, asking.unlocked)
    try:
        tables = [scorer.read_case(with_plan(case, own, scorer.bundle.dictionary))[0] for own in whole]
    except CasesRefused as refused:
        return _about(scorer.bundle, refused="; ".join(str(finding) for finding in refused.findings))
    scored = [_Scored(scorer, plan, table, asking.on) for plan, table in zip(plans, tables, strict=True)]
    differences = tuple(_difference(a, b, held) for a, b in combinations(scored, 2))
    numbers = tuple(PlanNumber(part.plan.name, part.estimate) for part in scored) if asking.numbers else ()
    return _about(scorer.bundle, differences, numbers)


def hold_the_same(
    case: Values, plans: Sequence[PlanValues], unlocked: Collection[str] = ()
) -> tuple[tuple[dict[str, object], ...], tuple[str, ...]]:
    """The columns of the plans with confounded fields made equal, and the names of those in which they differ.

    A field that all plans say alike stays; where they differ, or none says it, the case's own value is taken for all,
    and is left unknown when the case has none.
    """
    whole = [dict(plan.columns) for plan in plans]
    locked = [name for name in CONFOUNDED if name not in unlocked]
    said = {name: {str(own.get(name)) for own in whole} for name in locked}
    for own in whole:
        for name in [name for name, words in said.items() if len(words) > 1 or words == {"None"}]:
            own.pop(name, None)
            if case.get(name) is not None:
                own[name] = case[name]
    return tuple(whole), tuple(name for name, words in said.items() if len(words) > 1)


class _Scored:
    """One plan under one model: its estimate, its probability, and its probability in every draw."""

    def __init__(self, scorer: Scorer, plan: PlanValues, table: CaseTable, on: date) -> None:
        self.scorer, self.plan, self.table = scorer, plan, table
        (self.estimate,) = scorer.score_table(table, on=on)

    @property
    def drawn(self) -> Floats:
        """(K,) probability in each draw, holes filled in alike for every plan."""
        (drawn,) = self.scorer.drawn_probabilities(self.table)
        out: Floats = drawn
        return out

    @property
    def hindrances(self) -> Iterator[str]:
        """Why no number may be shown."""
        if not self.plan.complete:
            yield f"plan {self.plan.name} has parts that were refused"
        yield from (gate.says for gate in self.estimate.gates if gate.blocks and not gate.passed)


def _difference(first: _Scored, second: _Scored, held: tuple[str, ...]) -> Difference:
    names = (first.plan.name, second.plan.name)
    hindrances = list(dict.fromkeys((*first.hindrances, *second.hindrances)))
    if hindrances or first.estimate.probability is None or second.estimate.probability is None:
        return Difference(*names, None, None, None, LEVEL, f"no number is shown: {'; '.join(hindrances)}", held)
    difference = first.estimate.probability - second.estimate.probability
    low, high = (float(bound[0]) for bound in middle((first.drawn - second.drawn)[np.newaxis], LEVEL))
    if not first.scorer.model.signal:
        low, high = min(low, 0.0), max(high, 0.0)
    says = NOT_AN_EFFECT if low > 0.0 or high < 0.0 else CANNOT_TELL
    return Difference(*names, difference, low, high, LEVEL, says, held)


def _about(
    bundle: Bundle,
    differences: tuple[Difference, ...] = (),
    numbers: tuple[PlanNumber, ...] = (),
    refused: str = "",
) -> ModelRisks:
    return ModelRisks(
        bundle_id=bundle.id,
        digest=bundle.digest,
        title=bundle.title,
        outcome=bundle.outcome.label,
        horizon_months=bundle.outcome.horizon_months,
        use=bundle.use.value,
        demonstration=bundle.demonstration,
        cautions=bundle.cautions,
        differences=differences,
        numbers=numbers,
        refused=refused,
    )
