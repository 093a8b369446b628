"""The spread that comes from the choice of model: three specifications, set before any data were seen."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from riskmodel.terms import FEWEST_KNOTS
from training.cohort import Cohort
from training.features import declare
from training.features.build import quantile_knots
from training.protocol import Form, Predictor, Protocol
from training.validation.refit import Examined
from training.validation.variants import Variant, attempt, refused, spread, variant

AS_DECLARED, SPLINES, MAIN_EFFECTS = "as declared", "every number as a spline", "main effects only"


@dataclass(frozen=True, slots=True)
class Specifications:
    """The three specifications, and how far a child's risk differs between them: mean and 90th percentile."""

    variants: tuple[Variant, ...]
    spread_mean: float | None
    spread_90: float | None


def three(held: Examined) -> Specifications:
    """Fit the protocol as it is, with a spline for every number, and without its interactions."""
    found = [variant(held, AS_DECLARED, held.again())]
    risks = [held.fitted.probability]
    for name, asked, why_not in _others(held):
        if why_not is not None:
            found.append(refused(name, why_not))
            continue
        told, fit = attempt(held, name, protocol=asked, declared=declare(held.cohort, asked))
        found.append(told)
        risks += [] if fit is None else [fit.fitted.probability]
    mean, most = spread(risks) if len(risks) > 1 else (None, None)
    return Specifications(tuple(found), mean, most)


def _others(held: Examined) -> Iterator[tuple[str, Protocol, str | None]]:
    """Name and protocol of each other specification, and why there is none."""
    protocol = held.protocol
    bent = tuple(_bent(held.cohort, predictor) for predictor in protocol.predictors)
    none = "no number enters as a line" if bent == protocol.predictors else None
    yield SPLINES, replace(protocol, predictors=bent), none
    none = None if protocol.interactions else "no interaction is declared"
    yield MAIN_EFFECTS, replace(protocol, interactions=()), none


def _bent(cohort: Cohort, predictor: Predictor) -> Predictor:
    """The predictor as a spline; as it is where its values are too few for one."""
    if predictor.form not in (Form.LINEAR, Form.LOG2):
        return predictor
    variable = cohort.dictionary.variables[predictor.variable]
    knots = quantile_knots(cohort.cases[predictor.variable], variable.resolution)
    if len(knots) < FEWEST_KNOTS:
        return predictor
    return replace(predictor, form=Form.SPLINE, centre=None, scale=None)
