"""How much a cohort of this size can carry: minimum sample size for a prediction model with a yes/no outcome.

Riley, Snell, Ensor et al., Statistics in Medicine 2019;38:1276 (criteria i to iii); Riley, Ensor, Snell et al., BMJ
2020;368:m441 and van Smeden et al., Statistical Methods in Medical Research 2019;28:2455 (criterion iv, whose
coefficients are from memory). The criteria speak of parameters fitted freely; a model whose coefficients are shrunk
uses fewer effective degrees of freedom than it has columns.
"""

import math
from dataclasses import dataclass

from scipy.optimize import brentq

SHRINKAGE = 0.9  # least acceptable uniform shrinkage, criterion (i)
OPTIMISM = 0.05  # greatest acceptable optimism of Nagelkerke's R-squared, criterion (ii)
MARGIN = 0.05  # greatest acceptable error of the overall risk, criterion (iii)
ABSOLUTE_ERROR = 0.05  # greatest acceptable mean absolute error of the risks, criterion (iv)
MOST_PARAMETERS = 30  # criterion (iv) was simulated up to here
Z = 1.96  # as printed in the papers, not the exact quantile
CAUTIOUS_NAGELKERKE = 0.15


@dataclass(frozen=True, slots=True)
class Anticipated:
    """What is expected before the model is fitted: the outcome's rate and Cox and Snell's R-squared, both in (0, 1).

    Raises
    ------
    ValueError
        When the rate is not between 0 and 1, or the R-squared not between 0 and the highest possible at that rate.
    """

    rate: float
    r2_cox_snell: float

    def __post_init__(self) -> None:
        if not 0 < self.rate < 1:
            raise ValueError(f"the outcome's rate must lie between 0 and 1: found {self.rate}")
        highest = self.highest_r2
        if not 0 < self.r2_cox_snell < highest:
            raise ValueError(
                f"the expected R-squared (Cox and Snell) must lie between 0 and {highest:.3f}, the highest possible at "
                f"a rate of {self.rate:.3g}: found {self.r2_cox_snell}"
            )

    @classmethod
    def from_nagelkerke(cls, rate: float, r2_nagelkerke: float = CAUTIOUS_NAGELKERKE) -> "Anticipated":
        """Return the same from Nagelkerke's R-squared; 0.15 is a common cautious start.

        Raises
        ------
        ValueError
            As the class itself.
        """
        return cls(rate, r2_nagelkerke * highest_r2(rate) if 0 < rate < 1 else r2_nagelkerke)

    @property
    def highest_r2(self) -> float:
        """Highest Cox and Snell's R-squared that any model can reach at this rate."""
        return highest_r2(self.rate)

    @property
    def optimism_shrinkage(self) -> float:
        """Shrinkage that keeps the optimism of Nagelkerke's R-squared at `OPTIMISM`: criterion (ii)."""
        return self.r2_cox_snell / (self.r2_cox_snell + OPTIMISM * self.highest_r2)


@dataclass(frozen=True, slots=True)
class Required:
    """Children needed for a number of parameters, by criterion (whole numbers).

    `absolute_error` is None beyond 30 parameters, where the formula was not studied.
    """

    shrinkage: int
    optimism: int
    overall_risk: int
    absolute_error: int | None


@dataclass(frozen=True, slots=True)
class Carried:
    """Effective degrees of freedom that a cohort can carry, by criterion.

    Attributes
    ----------
    shrinkage, optimism
        Degrees of freedom by criteria (i) and (ii).
    absolute_error
        The same by criterion (iv), at most 30.
    overall_risk_margin
        Half width of the 95% interval of the overall risk with this many children: criterion (iii) asks for 0.05.
    """

    shrinkage: float
    optimism: float
    absolute_error: float
    overall_risk_margin: float

    @property
    def overall_risk_known(self) -> bool:
        """Whether the cohort is large enough to know its own overall risk to within 5 points: criterion (iii)."""
        return self.overall_risk_margin <= MARGIN

    @property
    def allowed(self) -> float:
        """Degrees of freedom that the criteria on shrinkage, optimism and error of the risks allow."""
        return min(self.shrinkage, self.optimism, self.absolute_error)


def highest_r2(rate: float) -> float:
    """Return the highest Cox and Snell's R-squared at this rate, 1 - (rate^rate (1 - rate)^(1 - rate))^2."""
    return -math.expm1(2 * (rate * math.log(rate) + (1 - rate) * math.log1p(-rate)))


def required(anticipated: Anticipated, parameters: int, *, shrinkage: float = SHRINKAGE) -> Required:
    """Return how many children a model with this many free parameters needs.

    Raises
    ------
    ValueError
        When there is no parameter, or the shrinkage does not lie between the R-squared and 1.
    """
    if parameters < 1:
        raise ValueError(f"a model has at least 1 parameter: found {parameters}")
    rate = anticipated.rate
    error = -0.508 + 0.259 * math.log(rate) + 0.504 * math.log(parameters) - math.log(ABSOLUTE_ERROR)
    return Required(
        shrinkage=math.ceil(parameters / _parameters_a_child(anticipated, shrinkage)),
        optimism=math.ceil(parameters / _parameters_a_child(anticipated, anticipated.optimism_shrinkage)),
        overall_risk=math.ceil((Z / MARGIN) ** 2 * rate * (1 - rate)),
        absolute_error=math.ceil(math.exp(error / 0.544)) if parameters <= MOST_PARAMETERS else None,
    )


def carried(anticipated: Anticipated, children: int, *, shrinkage: float = SHRINKAGE) -> Carried:
    """Return how many effective degrees of freedom a cohort of this many children can carry: `required` turned round.

    Raises
    ------
    ValueError
        When there is no child, or the shrinkage does not lie between the R-squared and 1.
    """
    if children < 1:
        raise ValueError(f"a cohort has at least 1 child: found {children}")
    rate = anticipated.rate
    error = 0.544 * math.log(children) + 0.508 - 0.259 * math.log(rate) + math.log(ABSOLUTE_ERROR)
    return Carried(
        shrinkage=children * _parameters_a_child(anticipated, shrinkage),
        optimism=children * _parameters_a_child(anticipated, anticipated.optimism_shrinkage),
        absolute_error=min(math.exp(min(error / 0.504, 10.0)), MOST_PARAMETERS),
        overall_risk_margin=Z * math.sqrt(rate * (1 - rate) / children),
    )


def expected_shrinkage(anticipated: Anticipated, children: int, degrees_of_freedom: float) -> float:
    """Return the uniform shrinkage to expect of a model fitted freely: the slope on new children, between 0 and 1.

    Raises
    ------
    ValueError
        When there is no child or the degrees of freedom are negative.

    Notes
    -----
    The S that solves criterion (i), children = df / ((S - 1) log(1 - R2 / S)).
    """
    if children < 1 or degrees_of_freedom < 0:
        raise ValueError(
            f"children must be at least 1 and degrees of freedom at least 0: found {children} and {degrees_of_freedom}"
        )
    if degrees_of_freedom == 0:
        return 1.0
    r2 = anticipated.r2_cox_snell
    lowest = r2 * (1 + 1e-12)
    target = degrees_of_freedom / children
    if target >= (lowest - 1) * math.log1p(-r2 / lowest):
        return lowest
    return float(brentq(lambda s: (s - 1) * math.log1p(-r2 / s) - target, lowest, 1.0, xtol=1e-14))


def children_to_judge_observed_expected(rate: float, half_width: float = 0.1) -> int:
    """Return how many children a check elsewhere needs for log(O/E) to be known to -/+ `half_width` (95%).

    Raises
    ------
    ValueError
        When the rate does not lie between 0 and 1 or the half width is not positive.

    Notes
    -----
    SE(log O/E) = sqrt((1 - rate) / (n rate)).
    """
    if not (0 < rate < 1 and half_width > 0):
        raise ValueError(f"the rate must lie between 0 and 1 and the half width above 0: found {rate} and {half_width}")
    return math.ceil((1 - rate) / rate * (Z / half_width) ** 2)


def _parameters_a_child(anticipated: Anticipated, shrinkage: float) -> float:
    """Return 1 / the children that one parameter needs for this shrinkage: (S - 1) log(1 - R2 / S)."""
    r2 = anticipated.r2_cox_snell
    if not r2 < shrinkage < 1:
        raise ValueError(f"the shrinkage must lie between the R-squared, {r2:.3g}, and 1: found {shrinkage}")
    return (shrinkage - 1) * math.log1p(-r2 / shrinkage)
