"""What every candidate is: a name, a rank (lower = simpler), and a fit that gives each child a probability."""

from dataclasses import dataclass
from typing import Protocol as Interface

import numpy as np

from riskmodel.cases.table import Floats
from training.cohort import Cohort
from training.features import Design
from training.outcome import Outcome
from training.posterior import Posterior


@dataclass(frozen=True, slots=True)
class FitLog:
    """How the fit went: Newton steps, and the scales of the priors, averaged over the posterior (NaN if none)."""

    steps: int = 0
    scales: tuple[float, float] = (float("nan"), float("nan"))


@dataclass(frozen=True, slots=True)
class Fitted:
    """A candidate fitted to a sample.

    `name` is that of the candidate that gave the numbers: of a rule that chooses, the chosen one's. `probability` (n,)
    for all children of the cohort, in the sample or not. For a sum of terms also `intercept`, `coefficients` (C,), and
    the `posterior` behind them, if there is one; `left_out` (n,) probabilities with each child left out; `gain`:
    log-likelihood of the left-out probabilities above that of the rate without the child.
    """

    name: str
    probability: Floats
    log: FitLog
    intercept: float | None = None
    coefficients: Floats | None = None
    posterior: Posterior | None = None
    left_out: Floats | None = None
    gain: float | None = None


class Candidate(Interface):
    """A way to turn a design and an outcome into probabilities."""

    @property
    def name(self) -> str:
        """As the protocol writes it."""
        ...

    @property
    def rank(self) -> int:
        """Lower is simpler; the choice rule prefers it when candidates cannot be told apart."""
        ...

    @property
    def most_replays(self) -> int | None:
        """How many replays are enough for a candidate that is only compared; None for as many as there are."""
        ...

    def lacking(self, outcome: Outcome) -> str | None:
        """What the cohort lacks for this candidate, as a sentence; None when it can be fitted."""
        ...

    def warmed(self, fitted: Fitted) -> "Candidate":
        """The same candidate, starting from where an earlier fit came to rest, if it can."""
        ...

    def fit(
        self, design: Design, cohort: Cohort, outcome: Outcome, *, counts: Floats, rng: np.random.Generator
    ) -> Fitted:
        """Fit to the sample in which child i is `counts[i]` times.

        Raises
        ------
        FitRefused
            When this sample gives no finite fit.
        """
        ...
