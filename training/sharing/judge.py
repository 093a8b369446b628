"""A centre's answer to the last round: how the model of the others did here, and what the whole is worth left out."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.cohort import Cohort
from training.fitting.disclosure import rounded_down
from training.metrics import Estimate, estimates
from training.protocol import Protocol
from training.sharing.counts import OUTCOME, sender
from training.sharing.files import digest
from training.sharing.masking import Masks
from training.sharing.model import Estimated, FitState, Judgement, Round, Stage
from training.sharing.sums import Local, local, refuse_round

MEASURES = ("logit_c", "log_observed_expected", "citl", "slope")


def judge(cohort: Cohort, protocol: Protocol, asked: Round, masks: Masks) -> Judgement:
    """How the model without this centre does here; the whole one where sums are masked, and no other was fitted.

    Raises
    ------
    SharesRefused
        When the round is of another protocol, does not know the centre, or asks for something else.
    """
    refuse_round(protocol, asked, masks, Stage.JUDGE)
    held, number = local(cohort, protocol, asked), digest(asked)
    whole = next(fit for fit in asked.fits if fit.without is None)
    others = next((fit for fit in asked.fits if fit.without == masks.centre), whole)
    stated = cohort.course.known
    p = expit(others.weights @ held.log_odds(others.settled))
    found = estimates(held.outcome.label[stated], p[stated], held.outcome.weight[stated])
    return Judgement(
        sender=sender(protocol, masks),
        round=number,
        children=rounded_down(len(cohort)),
        events=rounded_down(held.outcome.events),
        measures={name: _estimated(getattr(found, name)) for name in MEASURES},
        gain=masks.quantity(_gain(held, whole, asked), f"{number} gain"),
    )


def _estimated(held: Estimate) -> Estimated:
    return Estimated(held.value, held.standard_error, held.reason)


def _gain(held: Local, whole: FitState, asked: Round) -> float:
    """Log-likelihood of these children's left-out estimates above that of the rate without the child."""
    outcome = held.outcome
    weights = whole.kish * outcome.weight
    y = np.where(weights > 0.0, outcome.label, 0.0)
    sums = dict(zip(OUTCOME, asked.totals["outcome"].tolist(), strict=True))
    total, events = whole.kish * sums["weight"], whole.kish * sums["weight_of_events"]
    rate = (events - weights * y) / (total - weights)
    left_out = expit(_left_out(held, whole, y, weights))
    return float(weights @ (_log_likelihood(y, left_out) - _log_likelihood(y, rate)))


def _left_out(held: Local, whole: FitState, y: Floats, weights: Floats) -> Floats:
    """(n,) log-odds of each child without that child, mean over the grid; as `training.posterior` has it."""
    eta = held.log_odds(whole.settled)
    p = expit(eta)
    influence = np.einsum("ni,gij,nj->gn", held.design, np.linalg.inv(whole.hessians), held.design)
    curvature = weights * p * (1.0 - p)
    left: Floats = eta - influence * weights * (y - p) / np.maximum(1.0 - influence * curvature, 1e-6)
    mean: Floats = whole.weights @ left
    return mean


def _log_likelihood(y: Floats, p: Floats) -> Floats:
    held = np.clip(p, 1e-12, 1.0 - 1e-12)
    return y * np.log(held) + (1.0 - y) * np.log1p(-held)
