"""From a cohort and its protocol to the advice."""

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import FitRefused, OutcomeRefused
from training.advice.beforehand import beforehand
from training.advice.model import Advice, Path
from training.advice.words import reason
from training.candidates import SumOfTerms
from training.cohort import Cohort
from training.features import Declared, learn
from training.outcome import Outcome, rate
from training.posterior import ColumnPriors, Posterior
from training.priors import beliefs
from training.protocol import Protocol
from training.sample_size import Anticipated, Carried, carried, expected_shrinkage, required

FEWEST_EVENTS = 10
# A path of its own beside the fit's generators: what is advised does not move what is fitted.
STREAM = 1


def advise(cohort: Cohort, protocol: Protocol, outcome: Outcome, declared: Declared) -> Advice:
    """Say what the cohort can carry, and which step that leaves open.

    Parameters
    ----------
    outcome, declared
        Of the cohort itself: `training.outcome.at_horizon`, `training.features.declare`.

    Raises
    ------
    OutcomeRefused
        When the outcome is known of nobody, or of all alike.

    Notes
    -----
    Riley's criteria stand on Nagelkerke's R-squared of 0.15, a cautious start, and on the children that the censored
    cohort is worth. Path: refit where they allow every column freely; update where something is held beforehand and
    at least one degree of freedom is allowed; recalibrate from 10 events and non-events on (own choice); else check.
    """
    known_rate = rate(cohort.course, protocol.outcome)
    if known_rate is None or not 0.0 < known_rate < 1.0:
        raise OutcomeRefused("the outcome at the horizon must be known, and differ between children")
    worth, columns = _worth(outcome), int(np.count_nonzero(declared.learned))
    anticipated = Anticipated.from_nagelkerke(known_rate)
    held = carried(anticipated, max(1, int(worth)))
    spent = _spent(cohort, protocol, outcome, declared)
    path = _path(outcome, columns, held, has_beliefs=_has_beliefs(cohort, protocol, declared))
    children = int(np.count_nonzero(cohort.course.known))
    rng = np.random.default_rng([protocol.seed, STREAM])
    return Advice(
        children=children,
        events=outcome.events,
        worth=worth,
        rate=known_rate,
        columns=columns,
        degrees_of_freedom=spent,
        carried=held,
        required=required(anticipated, columns) if columns else None,
        shrinkage_free=expected_shrinkage(anticipated, int(worth), columns),
        shrinkage_shrunk=None if spent is None else expected_shrinkage(anticipated, int(worth), spent),
        beforehand=beforehand(cohort, protocol, declared, known_rate, rng) if _has_priors(protocol, declared) else None,
        path=path,
        reason=reason(path, children, outcome.events, columns, held),
    )


def _worth(outcome: Outcome) -> float:
    weights = outcome.weight
    return float(weights.sum()) ** 2 / float(weights @ weights)


def _path(outcome: Outcome, columns: int, held: Carried, *, has_beliefs: bool) -> Path:
    if min(outcome.events, outcome.non_events) < FEWEST_EVENTS:
        return Path.CHECK_ONLY
    if held.overall_risk_known and held.allowed >= columns:
        return Path.REFIT
    return Path.UPDATE if has_beliefs and held.allowed >= 1.0 else Path.RECALIBRATE


def _has_priors(protocol: Protocol, declared: Declared) -> bool:
    return bool(declared.recipe.terms) and protocol.fit.scale != "flat"


def _has_beliefs(cohort: Cohort, protocol: Protocol, declared: Declared) -> bool:
    return any(belief is not None for belief in beliefs(protocol, cohort.dictionary, declared.recipe.terms))


def _spent(cohort: Cohort, protocol: Protocol, outcome: Outcome, declared: Declared) -> float | None:
    """Effective degrees of freedom of the penalised model; None where it has no finite fit."""
    model = SumOfTerms("penalised", rank=0, uses_terms=True, scale=protocol.fit.scale)
    design = learn(cohort, protocol, declared=declared)
    counts, rng = np.ones(len(cohort)), np.random.default_rng(0)
    try:
        found = model.fit(design, cohort, outcome, counts=counts, rng=rng).posterior
    except FitRefused:
        return None
    return None if found is None else degrees_of_freedom(found, declared.priors.take(declared.learned))


def degrees_of_freedom(found: Posterior, priors: ColumnPriors) -> float:
    """Degrees of freedom that the data, not the priors, decide: the mean over the scales of trace(X'WX inv(H)).

    The base and the centres are not counted; every column counts between 0 (all prior) and 1 (all data).
    """
    columns = slice(1, 1 + len(priors.mean))
    variance = np.diagonal(np.linalg.inv(found.hessians), axis1=1, axis2=2)
    by_data: Floats = 1.0 - priors.precision(found.scales)[:, columns] * variance[:, columns]
    return float(found.weights @ by_data.sum(axis=1))
