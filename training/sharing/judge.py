"""A centre's answer to the last round: how the model of the others did here, and what the whole is worth left out."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.model import expit
from training.cohort import Cohort
from training.fitting.disclosure import rounded_down
from training.metrics import SCALES, estimates, gain_over_rate
from training.posterior import without_itself
from training.protocol import Protocol
from training.sharing.counts import OUTCOME, sender
from training.sharing.files import digest
from training.sharing.masking import Masks
from training.sharing.model import FitState, Judgement, Round, Stage
from training.sharing.sums import Local, local, refuse_round


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
        measures={name: getattr(found, name) for name, _ in SCALES.values()},
        gain=masks.quantity(_gain(held, whole, asked), f"{number} gain"),
    )


def _gain(held: Local, whole: FitState, asked: Round) -> float:
    """Log-likelihood of these children's left-out estimates above that of the rate without the child."""
    outcome = held.outcome
    weights = whole.kish * outcome.weight
    y = np.where(weights > 0.0, outcome.label, 0.0)
    sums = dict(zip(OUTCOME, asked.totals["outcome"].tolist(), strict=True))
    total, events = whole.kish * sums["weight"], whole.kish * sums["weight_of_events"]
    return gain_over_rate(y, expit(_left_out(held, whole, y, weights)), weights, total=total, events=events)


def _left_out(held: Local, whole: FitState, y: Floats, weights: Floats) -> Floats:
    """(n,) log-odds of each child without that child, mean over the grid."""
    eta = held.log_odds(whole.settled)
    influence = np.einsum("ni,gij,nj->gn", held.design, np.linalg.inv(whole.hessians), held.design)
    mean: Floats = whole.weights @ without_itself(eta, expit(eta), influence, y, weights)
    return mean
