"""What each update makes of a model: intercept, coefficients, draws, and how the interval comes about."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from training.outcome import kish
from training.updating.children import Children
from training.updating.closed_test import Branch, Trial, design, fitted, offset
from training.updating.left_out import left_out
from training.updating.levels import normal_draws, recalibrated, slopes
from training.updating.likelihood import Sample, refuse_separation
from training.updating.prior import posterior

SANDWICH = "the sandwich covariance of that fit, censoring weights taken as known"
INVERSE = "the inverse of its information"
LEVEL_OF = (
    "each of the parent's draws is brought to the level of these children by itself, and the standard error of that "
    "level is added"
)
INTERVALS = {
    Branch.ORIGINAL: "the parent's own: nothing was learned from these children",
    Branch.INTERCEPT: LEVEL_OF,
    Branch.RECALIBRATED: "each draw is multiplied by a slope drawn from its estimate and standard error; then "
    + LEVEL_OF,
    Branch.REFITTED: "draws about the new coefficients with {covariance}; a coefficient that too few carry keeps the "
    "parent's draws",
}
FROM_PRIOR = (
    "draws from the posterior: the parent's draws as the prior, their covariance multiplied by {discount:g} for what "
    "two hospitals do not share, and the likelihood of these children, weighted by what they would be worth uncensored"
)


@dataclass(frozen=True, slots=True)
class Step:
    """The model after an update.

    `intercept`, `coefficients` (C,), `draws` (K, 1 + C); `left_out` (n,) probability of each child of the update as if
    that child had taken no part in it; `interval` says how intervals come about.
    """

    intercept: float
    coefficients: Floats
    draws: Floats
    left_out: Floats
    interval: str


def trial_of(children: Children, learned: NDArray[np.bool_]) -> Trial:
    """What the closed test looks at; `learned` (C,) whose coefficients these children could tell. Draws come later."""
    bundle = children.bundle
    coefficients = bundle.coefficients * bundle.signal
    return Trial(
        sample=Sample(children.outcome.label, children.outcome.weight),
        log_odds=children.log_odds,
        columns=children.columns[:, learned],
        coefficients=coefficients[learned],
        fixed=children.columns[:, ~learned] @ coefficients[~learned],
    )


def step(
    children: Children, trial: Trial, branch: Branch, learned: NDArray[np.bool_], rng: np.random.Generator
) -> Step:
    """What a branch of the closed test makes of the model.

    Raises
    ------
    FitRefused
        When the branch's fit has no finite coefficients.
    """
    if branch is Branch.ORIGINAL:
        bundle = children.bundle
        return Step(bundle.intercept, bundle.coefficients, bundle.draws, children.probability, INTERVALS[branch])
    if branch is Branch.REFITTED:
        return _refitted(children, trial, learned, rng)
    return _recalibrated(children, trial, branch, rng)


def _recalibrated(children: Children, trial: Trial, branch: Branch, rng: np.random.Generator) -> Step:
    bundle, sample = children.bundle, trial.sample
    found = fitted(trial, branch)
    refuse_separation(found, design(trial, branch))
    turned = np.ones(len(bundle.draws))
    slope, level = 1.0, float(found.coefficients[0])
    if branch is Branch.RECALIBRATED:
        slope = float(found.coefficients[1])
        turned = slopes(found, sample, len(bundle.draws), rng)
    return Step(
        intercept=level + slope * bundle.intercept if bundle.signal else bundle.intercept + level,
        coefficients=slope * bundle.coefficients,
        draws=recalibrated(bundle.draws, children.columns, sample, turned, rng),
        left_out=left_out(design(trial, branch), sample, offset(trial, branch), found),
        interval=INTERVALS[branch],
    )


def _refitted(children: Children, trial: Trial, learned: NDArray[np.bool_], rng: np.random.Generator) -> Step:
    bundle, sample = children.bundle, trial.sample
    columns = design(trial, Branch.REFITTED)
    found = fitted(trial, Branch.REFITTED)
    refuse_separation(found, columns)
    coefficients, draws = bundle.coefficients.copy(), bundle.draws.copy()
    coefficients[learned] = found.coefficients[1:]
    own = np.concatenate([[True], learned])
    draws[:, own] = normal_draws(found.coefficients, found.spread(sample), len(draws), rng)
    return Step(
        intercept=float(found.coefficients[0]),
        coefficients=coefficients,
        draws=draws,
        left_out=left_out(columns, sample, offset(trial, Branch.REFITTED), found),
        interval=INTERVALS[Branch.REFITTED].format(covariance=SANDWICH if sample.weighted else INVERSE),
    )


def step_from_prior(children: Children, learned: NDArray[np.bool_], discount: float, rng: np.random.Generator) -> Step:
    """The parent's posterior, updated with these children's outcomes.

    Raises
    ------
    FitRefused
        When the bundle found no signal, or holds too few draws to become a prior.
    """
    bundle, outcome = children.bundle, children.outcome
    weights = outcome.weight * kish(outcome.weight, np.ones(len(children)))
    sample = Sample(outcome.label, weights)
    own = np.concatenate([[True], learned])
    found = posterior(bundle, children.columns, sample, own, discount, rng)
    columns = np.hstack([np.ones((len(children), 1)), children.columns])
    offset_of_others = columns[:, ~own] @ found.coefficients[~own]
    return Step(
        intercept=float(found.coefficients[0]),
        coefficients=found.coefficients[1:],
        draws=found.draws,
        left_out=left_out(columns[:, own], sample, offset_of_others, found.found),
        interval=FROM_PRIOR.format(discount=discount),
    )
