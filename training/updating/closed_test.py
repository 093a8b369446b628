"""Which update do these children call for: the closed test of Vergouwe and others, with tests that hold under weights.

Statistics in Medicine 2017;36:4529, procedure from memory. Each candidate is tested against the richest one, simplest
first; the first that is not rejected is kept. So the chance to change a model that is right stays at the level.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import numpy as np
from scipy.linalg import null_space
from scipy.stats import chi2

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.updating.likelihood import Fit, Sample, fit

LEVEL = 0.05
DRAWS = 999
# Fewer events than this for each tested parameter, and the Wald test no longer keeps its level.
EVENTS_A_PARAMETER = 10

Simulate = Callable[[Floats, np.random.Generator], Sample]


class Branch(Enum):
    """What an update may do to a model, simplest first."""

    ORIGINAL = "original"
    INTERCEPT = "intercept"
    RECALIBRATED = "intercept and slope"
    REFITTED = "refit"


class Judge(Enum):
    """How a p-value was made."""

    LIKELIHOOD_RATIO = "likelihood ratio"
    WALD = "Wald test, sandwich variance"
    BOOTSTRAP = "parametric bootstrap"


@dataclass(frozen=True, slots=True)
class Trial:
    """What the tests look at.

    `sample` of n children; `log_odds` (n,) that the model as it is gives them; `columns` (n, p) and `coefficients`
    (p,) those of its sum that could be estimated anew; `fixed` (n,) the part of the log-odds that would stay beside
    them. `simulate` draws the children's outcomes from probabilities (n,), with follow-up as it was; needed with
    weights only.
    """

    sample: Sample
    log_odds: Floats
    columns: Floats
    coefficients: Floats
    fixed: Floats
    simulate: Simulate | None = None

    @property
    def fewer(self) -> int:
        """Known events or known non-events, whichever are fewer."""
        used = self.sample.weights > 0.0
        events = int(self.sample.y[used].sum())
        return min(events, int(used.sum()) - events)

    @property
    def slope_can_move(self) -> bool:
        """Whether the log-odds differ between children, so that there is a slope."""
        return float(self.log_odds.std()) > 1e-9


@dataclass(frozen=True, slots=True)
class Comparison:
    """One test: is `null` good enough, held against the richer `against`? `draws` of a bootstrap, else 0."""

    null: Branch
    against: Branch
    statistic: float
    degrees_of_freedom: int
    p_value: float
    judge: Judge
    draws: int = 0


@dataclass(frozen=True, slots=True)
class ClosedTest:
    """The branch that is kept, and every test on the way to it."""

    chosen: Branch
    tests: tuple[Comparison, ...]


def closed_test(
    trial: Trial, *, refit: bool, rng: np.random.Generator, level: float = LEVEL, draws: int = DRAWS
) -> ClosedTest:
    """Choose the branch.

    Parameters
    ----------
    refit : whether estimating every coefficient anew belongs to the family (the advice has to allow it)
    level : share of models that are right and yet changed

    Notes
    -----
    Without weights: likelihood ratio. With censoring weights: Wald test with the sandwich variance of the richer fit,
    or, under 10 events for each tested parameter, the weighted likelihood ratio against its distribution under the
    null, by drawing children's outcomes from it. Fits are not penalised.
    """
    family = _family(trial, refit=refit)
    tests: list[Comparison] = []
    for null in family[:-1]:
        tests.append(_test(trial, null, family[-1], rng, draws))
        if tests[-1].p_value >= level:
            return ClosedTest(null, tuple(tests))
    return ClosedTest(family[-1], tuple(tests))


def _family(trial: Trial, *, refit: bool) -> list[Branch]:
    family = [Branch.ORIGINAL, Branch.INTERCEPT]
    family += [Branch.RECALIBRATED] * trial.slope_can_move
    return family + [Branch.REFITTED] * refit


def fitted(trial: Trial, branch: Branch, sample: Sample | None = None) -> Fit:
    """The branch's own fit; of the intercept the change, of the others the coefficients themselves."""
    held = trial.sample if sample is None else sample
    return fit(design(trial, branch), held, offset(trial, branch))


def design(trial: Trial, branch: Branch) -> Floats:
    """(n, k) columns of the branch's fit."""
    ones = np.ones((len(trial.log_odds), 1))
    parts = {
        Branch.ORIGINAL: (ones[:, :0],),
        Branch.INTERCEPT: (ones,),
        Branch.RECALIBRATED: (ones, trial.log_odds[:, None]),
        Branch.REFITTED: (ones, trial.columns),
    }
    return np.hstack(parts[branch])


def offset(trial: Trial, branch: Branch) -> Floats:
    """(n,) part of the log-odds that the branch's fit leaves as it is."""
    if branch is Branch.RECALIBRATED:
        return np.zeros(len(trial.log_odds))
    return trial.fixed if branch is Branch.REFITTED else trial.log_odds


def _size(trial: Trial, branch: Branch) -> int:
    return len(design(trial, branch).T)


def _test(trial: Trial, null: Branch, against: Branch, rng: np.random.Generator, draws: int) -> Comparison:
    freedom = _size(trial, against) - _size(trial, null)
    if not trial.sample.weighted:
        statistic = _likelihood_ratio(trial, null, against, trial.sample)
        return _of_chi2(null, against, statistic, freedom, Judge.LIKELIHOOD_RATIO)
    if trial.fewer < EVENTS_A_PARAMETER * freedom:
        return _bootstrap(trial, null, against, rng, draws)
    return _of_chi2(null, against, _wald(trial, null, against), freedom, Judge.WALD)


def _of_chi2(null: Branch, against: Branch, statistic: float, freedom: int, judge: Judge) -> Comparison:
    return Comparison(null, against, statistic, freedom, float(chi2.sf(statistic, freedom)), judge)


def _likelihood_ratio(trial: Trial, null: Branch, against: Branch, sample: Sample) -> float:
    richer = fitted(trial, against, sample)
    simpler = fit(*_within(trial, null, against, sample))
    # Below 0 by no more than what is left of the last Newton step.
    return max(0.0, 2.0 * (richer.log_likelihood - simpler.log_likelihood))


def _within(trial: Trial, null: Branch, against: Branch, sample: Sample) -> tuple[Floats, Sample, Floats]:
    """Columns, sample and offset of the null as a special case of the richer fit.

    A refit leaves the coefficients that cannot be estimated as they are; a slope that turned those as well would not
    be a case of it. Held against a refit the slope turns the others only.
    """
    if null is Branch.RECALIBRATED and against is Branch.REFITTED:
        ones = np.ones((len(trial.log_odds), 1))
        return np.hstack([ones, (trial.log_odds - trial.fixed)[:, None]]), sample, trial.fixed
    return design(trial, null), sample, offset(trial, null)


def _wald(trial: Trial, null: Branch, against: Branch) -> float:
    """How far the richer fit lies from the null, in its own sandwich standard errors, squared."""
    found = fitted(trial, against)
    contrast, expected = _null_as_contrast(trial, null, against)
    away = contrast @ found.coefficients - expected
    return float(away @ np.linalg.solve(contrast @ found.sandwich @ contrast.T, away))


def _null_as_contrast(trial: Trial, null: Branch, against: Branch) -> tuple[Floats, Floats]:
    """The null as contrast @ coefficients = expected, in terms of the richer fit's coefficients."""
    size = _size(trial, against)
    if against is Branch.INTERCEPT:
        return np.eye(1), np.zeros(1)
    if against is Branch.RECALIBRATED:
        original = np.array([0.0, 1.0])
    else:
        # The log-odds as they are, written with the columns' own intercept.
        own = trial.log_odds - trial.fixed - trial.columns @ trial.coefficients
        original = np.concatenate([[own.mean()], trial.coefficients])
    if null is Branch.ORIGINAL:
        return np.eye(size), original
    if null is Branch.INTERCEPT:
        return np.eye(size)[1:], original[1:]
    across = null_space(trial.coefficients[None]).T
    return np.hstack([np.zeros((len(across), 1)), across]), np.zeros(len(across))


def _bootstrap(trial: Trial, null: Branch, against: Branch, rng: np.random.Generator, draws: int) -> Comparison:
    if trial.simulate is None:
        raise ValueError("a bootstrap test needs a way to draw the children's outcomes: give `simulate`")
    statistic = _likelihood_ratio(trial, null, against, trial.sample)
    columns, sample, fixed = _within(trial, null, against, trial.sample)
    at_null = expit(fixed + columns @ fit(columns, sample, fixed).coefficients)
    drawn = [_likelihood_ratio(trial, null, against, trial.simulate(at_null, rng)) for _ in range(draws)]
    p_value = (1 + np.count_nonzero(np.array(drawn) >= statistic)) / (1 + draws)
    freedom = _size(trial, against) - _size(trial, null)
    return Comparison(null, against, statistic, freedom, float(p_value), Judge.BOOTSTRAP, draws)
