"""What travels between centres and the one that pools: sums, never rows.

Round 0: each centre counts (`Counts`). The pool answers with a `Round`: everything that all centres must do alike, and
the coefficients at which they next sum. Each centre sends `Sums` at those coefficients, until the fit has settled; then
the round asks how the models of the others did (`Judgement`), and the pool makes the bundle.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from riskmodel.bundle import Ranges, Support
from riskmodel.cases.table import Floats
from riskmodel.missing import Block
from training.metrics import Estimate

FORMAT = 1
CAUTION = (
    "Sums over few children can tell of a single child. Treat this file as personal data: send it to those who pool, "
    "over a channel that both departments have agreed on, and to nobody else."
)


class Stage(Enum):
    """What a round asks for."""

    FIT = "fit"
    JUDGE = "judge"


@dataclass(frozen=True, slots=True)
class Quantity:
    """Numbers that are added up over centres: `values` of this `shape`, or, masked, whole numbers as text."""

    shape: tuple[int, ...]
    values: tuple[float, ...]
    masked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sender:
    """Who sends, under which protocol (name, and digest of everything fixed beforehand), and whom it masks with."""

    centre: str
    protocol: str
    digest: str
    masked_with: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Counts:
    """Round 0. `carried` (C,): at least 5 children of the centre carry the column.

    `levels`: variable -> code or state -> children, rounded down to multiples of 5. `ranges`, `support` and
    `missing_share` as a bundle tells them. `sums`: children, known and so on, and the moments of the complete children.
    """

    sender: Sender
    carried: tuple[bool, ...]
    levels: Mapping[str, Mapping[str, int]]
    ranges: Ranges
    support: tuple[Support, ...]
    missing_share: Mapping[str, float]
    sums: Mapping[str, Quantity]


@dataclass(frozen=True, slots=True)
class Frozen:
    """What all centres do alike: coordinates and moments of what may be missing, columns that are learned.

    `mean` (d,), `covariance` (d, d) in the order of `blocks`; `learned` (C,).
    """

    blocks: tuple[Block, ...]
    mean: Floats
    covariance: Floats
    learned: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class FitState:
    """One fit on its way: of all centres, or of all but `without`.

    Coefficients are those of the columns as they are: the intercept is not the base. `kish`: factor of the likelihood
    weights. `modes` (G, k) are asked for next; `settled` (G, k) the best so far, with objective `value` (G,); `means`
    (k - 1,) of the learned columns over these children; all empty at first. `weights` (G,) and `hessians` (G, k, k)
    once the fit is `done`.
    """

    without: str | None
    kish: float
    modes: Floats
    settled: Floats
    value: Floats
    means: Floats
    done: bool
    weights: Floats
    hessians: Floats


@dataclass(frozen=True, slots=True)
class Round:
    """What the pool asks of every centre next.

    `totals`: sums of round 0 by name, over all centres; `counts` of each centre, without its sums.
    """

    protocol: str
    digest: str
    stage: Stage
    number: int
    centres: tuple[str, ...]
    masked: bool
    frozen: Frozen
    fits: tuple[FitState, ...]
    totals: Mapping[str, Floats]
    counts: tuple[Counts, ...]


@dataclass(frozen=True, slots=True)
class FitSums:
    """One fit's sums at the modes asked for: log-likelihood (G,), gradient (G, k), Hessian (G, k (k + 1) / 2)."""

    without: str | None
    log_likelihood: Quantity
    gradient: Quantity
    hessian: Quantity


@dataclass(frozen=True, slots=True)
class Sums:
    """A centre's answer to a round that fits: `round` is that round's digest; `columns` (k,) children, and sums."""

    sender: Sender
    round: str
    columns: Quantity
    fits: tuple[FitSums, ...]


@dataclass(frozen=True, slots=True)
class Judgement:
    """A centre's answer to the last round: how the model of the others did here, and how the whole would do left out.

    `measures`: logit_c, log_observed_expected, citl, slope, under the model without this centre (under the whole one
    where sums are masked). `gain`: log-likelihood of left-out estimates above that of the rate.
    """

    sender: Sender
    round: str
    children: int
    events: int
    measures: Mapping[str, Estimate]
    gain: Quantity
