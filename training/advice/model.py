"""The advice as a frozen value."""

from dataclasses import dataclass
from enum import Enum

from training.sample_size import Carried, Required


class Path(Enum):
    """The step that a cohort of this size leaves open, cheapest first."""

    CHECK_ONLY = "check only"
    RECALIBRATE = "recalibrate"
    UPDATE = "update with priors"
    REFIT = "refit"


@dataclass(frozen=True, slots=True)
class Spread:
    """What a set of beliefs implies for the cohort's children, before any outcome is looked at.

    `c`, `c_low`, `c_high`: median and middle 90% over draws of the c-statistic that a model with these coefficients
    would have if it were the truth. `risk_low`, `risk_high`: middle 95% of the children's risks, over children and
    draws together; `risk_mean` their mean. Probabilities in [0, 1].
    """

    c: float
    c_low: float
    c_high: float
    risk_low: float
    risk_high: float
    risk_mean: float


@dataclass(frozen=True, slots=True)
class Beforehand:
    """The prior predictive check.

    `means`: the prior means alone. `held`: coefficients drawn with the SDs that the priors file writes, where it
    writes one. `used`: drawn with the SDs that the fit uses, those that it learns drawn from what is held of the
    scales themselves. `base_from_cohort`: nothing was held of the base, so that the cohort's rate stood in for it.
    """

    means: Spread
    held: Spread
    used: Spread
    base_from_cohort: bool


@dataclass(frozen=True, slots=True)
class Advice:
    """What the cohort can carry by Riley's criteria, and the path that follows.

    Attributes
    ----------
    children, events
        Children of known course, and those known to have had the event.
    worth
        Children without censoring that these are worth, (sum w)^2 / sum w^2 of the censoring weights.
    rate
        Of the outcome at the horizon, in (0, 1).
    columns
        Columns whose coefficient is to be learned from data.
    degrees_of_freedom
        Effective ones that the shrunk model spends on them; None with a reason where it cannot be fitted.
    carried, required
        By criterion: degrees of freedom that the cohort can carry; children that `columns` free ones would need (None
        without columns).
    shrinkage_free, shrinkage_shrunk
        Slope to expect on new children (1 = as it should be) when the columns are fitted freely, and with the degrees
        of freedom of the shrunk model.
    beforehand
        The prior predictive check; None where there is no term, or no prior (`scale = "flat"`).
    path, reason
        The step to take, and why, in one sentence.
    """

    children: int
    events: int
    worth: float
    rate: float
    columns: int
    degrees_of_freedom: float | None
    carried: Carried
    required: Required | None
    shrinkage_free: float
    shrinkage_shrunk: float | None
    beforehand: Beforehand | None
    path: Path
    reason: str

    @property
    def refit(self) -> bool:
        """Whether the cohort is large enough to fit the protocol's columns freely."""
        return self.path is Path.REFIT
