"""What a family may be told in numbers: whole children of 100, or the reason why there is no number."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import ceil, floor

from riskmodel.account import Contribution, speaking
from riskmodel.bundle import Use
from riskmodel.documents.scored import Scored

# Like cases that a number for a family needs, and the width of range (in children of 100) from which it says nothing.
LIKE_CASES = 20
WIDEST = 40
# Up to this width a range is drawn as one number; above, as three groups.
NARROW = 10
# A reason is named if its direction held in this share of the replays; never more reasons than this.
HELD = 0.8
MOST_REASONS = 3
# Log-odds below which a reason moves no whole child of 100.
LEAST_MOVED = 0.05


class Why(Enum):
    """Why there is no number."""

    TOO_FEW = "too_few"
    TOO_UNSURE = "too_unsure"
    OUT_OF_DATE = "out_of_date"
    NOT_CHECKED = "not_checked"
    PLAN = "plan"


@dataclass(frozen=True, slots=True)
class FamilyNumber:
    """One outcome for the family.

    Of `total` children, `likely` had it, between `low` and `high`; all None where `why` says that there is no number.
    `months` to the horizon, None for a plain outcome. `children`: size of the cohort; `like`: like cases, both
    rounded down. `rare`: fewer than 5 children had the condition. `published_low`, `published_high`: of `total`, from
    the published range. `raised`, `lowered`: variables that moved the estimate.
    """

    outcome: str
    label: str
    months: float | None
    total: int
    likely: int | None
    low: int | None
    high: int | None
    why: Why | None
    children: str
    like: int
    rare: bool
    published_low: int | None
    published_high: int | None
    raised: tuple[str, ...] = ()
    lowered: tuple[str, ...] = ()

    @property
    def wide(self) -> bool:
        """Whether the range is drawn as three groups."""
        if self.low is None or self.high is None:
            return False
        return 100 * (self.high - self.low) > NARROW * self.total


def total_of(answers: tuple[Scored, ...]) -> int:
    """One denominator for the whole sheet: 1000 when any risk that is shown is below 1 in 100."""
    told = [answer.estimate.probability for answer in answers if why_not(answer) is None]
    return 1000 if any(risk is not None and risk < 0.01 for risk in told) else 100


def family_number(answer: Scored, total: int, variables: tuple[str, ...]) -> FamilyNumber:
    """What the family may be told of one outcome; `variables` are those that may be named as reasons."""
    estimate, published = answer.estimate, answer.estimate.published or answer.bundle.published
    why = why_not(answer)
    told = why is None
    raised, lowered = _reasons(answer, variables) if told else ((), ())
    return FamilyNumber(
        outcome=answer.bundle.outcome.name,
        label=answer.bundle.outcome.label,
        months=answer.bundle.outcome.horizon_months,
        total=total,
        likely=_whole(estimate.probability, total, _Round.NEAREST) if told else None,
        low=_whole(estimate.low, total, _Round.DOWN) if told else None,
        high=_whole(estimate.high, total, _Round.UP) if told else None,
        why=why,
        children=str(answer.bundle.cohort.get("children", "")),
        like=answer.like_cases,
        rare=answer.rare,
        published_low=None if published is None else _whole(published.low, total, _Round.DOWN),
        published_high=None if published is None else _whole(published.high, total, _Round.UP),
        raised=raised,
        lowered=lowered,
    )


def why_not(answer: Scored) -> Why | None:
    """Why the family gets no number; None when it may have one.

    A model that is for study only gives families none, unless its data are invented and the sheet says so.
    """
    estimate = answer.estimate
    if any(gate.name == "expiry" and not gate.passed for gate in estimate.gates):
        return Why.OUT_OF_DATE
    if answer.bundle.use is Use.STUDY and not answer.bundle.demonstration:
        return Why.NOT_CHECKED
    if answer.plan_contradicts:
        return Why.PLAN
    if not estimate.shown or answer.like_cases < LIKE_CASES:
        return Why.TOO_FEW
    if estimate.low is None or estimate.high is None or estimate.high - estimate.low >= WIDEST / 100:
        return Why.TOO_UNSURE
    return None


class _Round(Enum):
    """Bounds are rounded outward; a hair inward first, so that 0.27 of 100 children is 27 and not 28."""

    DOWN = "down"
    NEAREST = "nearest"
    UP = "up"


def _whole(probability: float | None, total: int, rounding: _Round) -> int | None:
    if probability is None:
        return None
    children = probability * total
    if rounding is _Round.DOWN:
        return floor(children + 1e-9)
    return ceil(children - 1e-9) if rounding is _Round.UP else round(children)


def _reasons(answer: Scored, variables: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Up to three variables that moved the estimate, the strongest first, whose direction held in the replays.

    All lines of a variable count together, also what it does together with the plan, if both are there in this child.
    What was not measured is no reason, nor is what hardly moved anything.
    """
    held: dict[str, list[Contribution]] = {}
    for line in speaking(answer.estimate.contributions, answer.bundle.terms):
        for name in [name for name in line.variables if name in variables][:1]:
            held.setdefault(name, []).append(line)
    moved = {
        name: sum(line.log_odds for line in lines) for name, lines in held.items() if _measured(answer, name, lines)
    }
    told = {name: total for name, total in moved.items() if abs(total) >= LEAST_MOVED}
    strongest = sorted(told, key=lambda name: -abs(told[name]))[:MOST_REASONS]
    return tuple(n for n in strongest if told[n] > 0.0), tuple(n for n in strongest if told[n] < 0.0)


def _measured(answer: Scored, name: str, lines: Sequence[Contribution]) -> bool:
    """Whether the child has a value, and the direction of its main line held in the replays."""
    main = max(lines, key=lambda line: abs(line.log_odds))
    measured = name in answer.case and bool(answer.case[name].present[0])
    return measured and (main.same_sign_share or 0.0) >= HELD
