"""The surgeon's page as frozen values, in reading order: what to do and with what first, the estimate last."""

from dataclasses import dataclass
from datetime import date

from riskmodel.drawing import Drawing

Pairs = tuple[tuple[str, str], ...]
# Facts of a step that the front page shows.
ON_FRONT = 3


@dataclass(frozen=True, slots=True)
class Step:
    """One of the seven steps of the conference: measured, not known, what to think of, decided.

    `decided` is empty when nothing was; an open step hides nothing.
    """

    number: int
    title: str
    measured: tuple[str, ...]
    unknown: tuple[str, ...]
    prompts: tuple[str, ...]
    decided: str

    @property
    def first(self) -> tuple[str, ...]:
        """The few facts that the front has room for; the back holds them all."""
        more = len(self.measured) - ON_FRONT
        return (*self.measured[:ON_FRONT], *([f"{more} more on the back"] if more > 0 else []))


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One plan as typed: levels, anchors at each end, and what contradicts itself. Never ranked."""

    name: str
    title: str
    levels: str
    anchors: str
    contradictions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Conference:
    """What the planning of a child says, in words; empty parts print as "none typed".

    `between`: for each model, by its digest, what it tells between plans. `doubts`: what was refused or is doubtful in
    the files. `says`: what the conference itself asks to be printed.
    """

    case_id: str
    on: date
    top: Pairs = ()
    steps: tuple[Step, ...] = ()
    ladder: Drawing | None = None
    plans: tuple[PlanLine, ...] = ()
    between: tuple[tuple[str, tuple[str, ...]], ...] = ()
    rescue: Pairs = ()
    kit: tuple[str, ...] = ()
    stop_rules: tuple[str, ...] = ()
    prompts: Pairs = ()
    watch: Pairs = ()
    doubts: tuple[str, ...] = ()
    says: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AccountLine:
    """One line of the account, in log-odds; `held` says how often the sign was the same in the replays."""

    label: str
    value: str
    log_odds: float
    low: float
    high: float
    held: str

    @property
    def what(self) -> str:
        """Label and value in one."""
        return f"{self.label}: {self.value}" if self.value else self.label


@dataclass(frozen=True, slots=True)
class Strip:
    """One estimate: range first, then the point, in whole children of 100; all None when no number is shown.

    `differences` are between plans, in children of 100 with their interval. `refused` says why there is no number,
    `published` what is known elsewhere; `cautions` what speaks against the number.
    """

    outcome: str
    within: str
    level: str
    low: str | None
    likely: str | None
    high: str | None
    rate: str
    like: tuple[str, ...]
    raises: tuple[AccountLine, ...]
    lowers: tuple[AccountLine, ...]
    missing: tuple[str, ...]
    differences: tuple[str, ...]
    calibration: str
    refused: tuple[str, ...]
    published: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Account:
    """From the base to this child, line by line; `base` and `total` in log-odds and in children of 100."""

    outcome: str
    base: float
    base_of_100: str
    lines: tuple[AccountLine, ...]
    total: float
    total_of_100: str


@dataclass(frozen=True, slots=True)
class Identity:
    """Which model an estimate came from."""

    model: str
    digest: str
    released: date
    review_by: date
    use: str


@dataclass(frozen=True, slots=True)
class SurgeonPage:
    """The whole page. `marks` run across the top of every sheet; `doubts` are warnings about the values typed."""

    format: int
    case_id: str
    on: date
    marks: tuple[str, ...]
    conference: Conference
    strips: tuple[Strip, ...]
    accounts: tuple[Account, ...]
    doubts: tuple[str, ...]
    cautions: tuple[str, ...]
    identities: tuple[Identity, ...]
    foot: str
