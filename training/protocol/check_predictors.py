"""What may be wrong with predictors and interactions."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from riskmodel.dictionary.model import Kind, Variable
from riskmodel.dictionary.names import suggestion
from riskmodel.terms import FEWEST_KNOTS
from training.protocol.check_rows import predictor_rows_faults
from training.protocol.known import Fault, Known
from training.protocol.model import Factor, Form, Interaction, Predictor

LAST_VALUE = "last"

_NUMERIC = (Kind.NUMBER, Kind.INTEGER, Kind.ORDINAL)
_KINDS = {
    Form.LINEAR: _NUMERIC,
    Form.LOG2: _NUMERIC,
    Form.SPLINE: _NUMERIC,
    Form.LEVELS: (Kind.LEVEL,),
    Form.YES_NO: (Kind.YES_NO,),
}
_NUMBER_FORMS = (Form.LINEAR, Form.LOG2, Form.SPLINE)
# Which options go with which forms; whatever is not named here goes with all of them.
_OPTIONS = {
    "clip": _NUMBER_FORMS,
    "centre": _NUMBER_FORMS,
    "scale": _NUMBER_FORMS,
    "score_at": _NUMBER_FORMS,
    "knots": (Form.SPLINE,),
    "pooled_in": (Form.LEVELS,),
    "reference": (Form.LEVELS,),
}


def predictor_faults(predictors: tuple[Predictor, ...], known: Known) -> Iterator[Fault]:
    """Everything wrong with the `[[predictor]]` tables."""
    for number, predictor in enumerate(predictors, start=1):
        place = f"predictor[{number}]"
        yield from known.may_predict(f"{place}.variable", predictor.variable)
        variable = known.variables.get(predictor.variable)
        if variable is not None:
            yield from _fits(place, predictor, variable)
            yield from predictor_rows_faults(f"{place}.from", predictor, known)
    for name, times in Counter(predictor.variable for predictor in predictors).items():
        if name and times > 1:
            yield Fault("predictor", f"{name} {times} times", "each variable once", "double_predictor")


def _fits(place: str, predictor: Predictor, variable: Variable) -> Iterator[Fault]:
    if variable.kind not in _KINDS[predictor.form]:
        forms = [form.value for form, kinds in _KINDS.items() if variable.kind in kinds]
        found = f"{predictor.form.value} for {variable.name}, a {variable.kind.value}"
        accepted = " or ".join(forms) if forms else f"no form: a {variable.kind.value} cannot predict"
        yield Fault(f"{place}.form", found, accepted, "form_of_kind")
        return
    yield from _misplaced(place, predictor)
    yield from _states(place, predictor, variable)
    if predictor.form is Form.LOG2:
        yield from _logarithm(place, predictor, variable)
    if predictor.form is Form.SPLINE:
        yield from _knots(place, predictor)
    if predictor.form is Form.LEVELS:
        yield from _levels(place, predictor, variable)


def _misplaced(place: str, predictor: Predictor) -> Iterator[Fault]:
    """Options that the form cannot use."""
    for option, forms in _OPTIONS.items():
        if getattr(predictor, option) not in (None, ()) and predictor.form not in forms:
            accepted = f"{option} with {' or '.join(form.value for form in forms)} only"
            yield Fault(f"{place}.{option}", f"{option} with {predictor.form.value}", accepted, "option_of_form")
    if predictor.score_at not in (None, LAST_VALUE):
        yield Fault(f"{place}.score_at", str(predictor.score_at), f'"{LAST_VALUE}"', "unknown_word")


def _states(place: str, predictor: Predictor, variable: Variable) -> Iterator[Fault]:
    for word in predictor.states:
        if word not in variable.states:
            accepted = f"a state of {variable.name}: {', '.join(variable.states) or 'it has none'}"
            yield Fault(f"{place}.states", word, accepted, "unknown_state")


def _logarithm(place: str, predictor: Predictor, variable: Variable) -> Iterator[Fault]:
    bounds = predictor.clip or variable.hard
    if bounds is None or bounds[0] <= 0:
        lowest = "no lower limit" if bounds is None else f"a lowest value of {bounds[0]:g}"
        accepted = "values above 0: clip = [low, high] with low above 0"
        yield Fault(f"{place}.clip", f"log2 of {variable.name}, which has {lowest}", accepted, "log_of_zero")
    if predictor.centre is not None and predictor.centre <= 0:
        yield Fault(f"{place}.centre", f"{predictor.centre:g}", "a centre above 0 with log2", "log_of_zero")


def _knots(place: str, predictor: Predictor) -> Iterator[Fault]:
    knots = predictor.knots
    if not knots:
        return
    if len(knots) < FEWEST_KNOTS or any(low >= high for low, high in pairwise(knots)):
        found = ", ".join(f"{knot:g}" for knot in knots)
        yield Fault(f"{place}.knots", found, f"at least {FEWEST_KNOTS} knots, each above the one before", "knots")
    elif predictor.clip is not None and not (predictor.clip[0] <= knots[0] and knots[-1] <= predictor.clip[1]):
        found = f"knots from {knots[0]:g} to {knots[-1]:g}"
        accepted = f"knots within clip, {predictor.clip[0]:g} to {predictor.clip[1]:g}"
        yield Fault(f"{place}.knots", found, accepted, "knots")


def _levels(place: str, predictor: Predictor, variable: Variable) -> Iterator[Fault]:
    if predictor.reference is not None and predictor.reference not in variable.codes:
        accepted = suggestion(predictor.reference, variable.codes)
        yield Fault(f"{place}.reference", predictor.reference, accepted, "unknown_level")
    if predictor.pooled_in is not None and predictor.pooled_in != variable.grouped_by:
        accepted = variable.grouped_by or f"nothing: the levels of {variable.name} have no groups"
        yield Fault(f"{place}.pooled_in", predictor.pooled_in, accepted, "unknown_group")


def interaction_faults(interactions: tuple[Interaction, ...], known: Known) -> Iterator[Fault]:
    """Everything wrong with the `[[interaction]]` tables."""
    for number, interaction in enumerate(interactions, start=1):
        place = f"interaction[{number}].of"
        if len(interaction.of) < 2 or len(set(interaction.of)) < len(interaction.of):
            yield Fault(place, f"{len(set(interaction.of))} different factors", "at least 2, each once", "factors")
        for factor in interaction.of:
            yield from _factor(place, factor, known)
    for factors, times in Counter(frozenset(interaction.of) for interaction in interactions).items():
        if factors and times > 1:
            yield Fault("interaction", f"the same product {times} times", "each product once", "double_interaction")


def _factor(place: str, factor: Factor, known: Known) -> Iterator[Fault]:
    yield from known.may_predict(place, factor.variable)
    variable = known.variables.get(factor.variable)
    if variable is None:
        return
    if factor.negated and variable.kind is not Kind.YES_NO:
        yield Fault(place, f"not {variable.name}, a {variable.kind.value}", "not before a yes_no", "negation")
    if variable.kind is Kind.LEVEL and factor.level not in variable.codes:
        meant = suggestion(factor.level, variable.codes) if factor.level else f"{variable.name}=LEVEL"
        yield Fault(place, factor.level or f"{variable.name} without a level", meant, "unknown_level")
    elif variable.kind is not Kind.LEVEL and factor.level is not None:
        found = f"{variable.name}={factor.level}, though {variable.name} is a {variable.kind.value}"
        yield Fault(place, found, f"{variable.name} alone", "unknown_level")
    elif not (variable.kind.numeric or variable.kind in (Kind.LEVEL, Kind.YES_NO)):
        found = f"{variable.name}, a {variable.kind.value}"
        yield Fault(place, found, "a number, a yes_no, or one level", "factors")
