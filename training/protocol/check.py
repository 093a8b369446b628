"""What may be wrong with a protocol as a whole, its predictors aside: each fault said once, all of them at once."""

import re
from collections.abc import Iterator

from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Dictionary, Kind, Role
from riskmodel.dictionary.names import suggestion
from riskmodel.eligibility import Requirement
from training.protocol.check_predictors import interaction_faults, predictor_faults
from training.protocol.check_rows import rows_faults
from training.protocol.known import Fault, Known
from training.protocol.model import CANDIDATES, ONE_STANDARD_ERROR, SHIPPABLE, Protocol
from training.protocol.values import NO_DAY

_NAME = re.compile(r"[a-z0-9][a-z0-9_-]*")
_NEEDS_NO_PREDICTOR = ("rate",)


def faults(protocol: Protocol, dictionary: Dictionary) -> Iterator[Fault]:
    """Everything that the protocol's values contradict; `dictionary` holds the derived variables too."""
    known = Known(dictionary.variables, protocol.moment)
    yield from _head(protocol)
    yield from _cohort(protocol, known)
    if protocol.outcome.column is not None:
        yield from _plain_outcome(protocol, known)
    else:
        yield from _timed_outcome(protocol, dictionary)
    yield from rows_faults(protocol, dictionary)
    yield from predictor_faults(protocol.predictors, known)
    yield from interaction_faults(protocol.interactions, known)
    yield from _fit(protocol)
    yield from _report(protocol, known)


def _head(protocol: Protocol) -> Iterator[Fault]:
    if protocol.name and not _NAME.fullmatch(protocol.name):
        accepted = "small letters, digits, hyphen and underscore: it becomes the stem of file names"
        yield Fault("name", protocol.name, accepted, "bad_name")
    if NO_DAY not in (protocol.released, protocol.review_by) and protocol.review_by <= protocol.released:
        accepted = f"a day after the release on {protocol.released.isoformat()}"
        yield Fault("review_by", protocol.review_by.isoformat(), accepted, "review_before_release")


def _cohort(protocol: Protocol, known: Known) -> Iterator[Fault]:
    rules = protocol.cohort
    for place, name, roles in (
        ("cohort.key", rules.key, (Role.KEY,)),
        ("cohort.centre", rules.centre, (Role.CENTRE,)),
    ):
        if name is not None:
            yield from known.unknown(place, name)
            yield from _role(place, name, roles, known)
    if rules.year is not None:
        yield from known.unknown("cohort.year", rules.year)
        variable = known.variables.get(rules.year)
        if variable is not None and variable.kind is not Kind.INTEGER:
            yield Fault("cohort.year", f"{rules.year}, a {variable.kind.value}", "an integer variable", "no_year")
    for number, requirement in enumerate(rules.only, start=1):
        yield from _requirement(f"cohort.only[{number}]", requirement, known)
    if protocol.outcome.censoring_by_centre and rules.centre is None:
        yield Fault("outcome.censoring_by_centre", "no centre in [cohort]", "centre = a variable", "no_centre")


def _role(place: str, name: str, roles: tuple[Role, ...], known: Known) -> Iterator[Fault]:
    variable = known.variables.get(name)
    if variable is not None and variable.role not in roles:
        accepted = f"a variable whose role is {' or '.join(role.value for role in roles)}"
        yield Fault(place, f"{name}, whose role is {variable.role.value}", accepted, "wrong_role")


def _requirement(place: str, requirement: Requirement, known: Known) -> Iterator[Fault]:
    yield from known.in_time(f"{place}.variable", requirement.variable)
    variable = known.variables.get(requirement.variable)
    if variable is None:
        return
    bounds = (requirement.at_least, requirement.at_most)
    if bounds == (None, None) and not requirement.one_of:
        yield Fault(place, "no condition", "at_least, at_most or one_of", "no_condition")
    if None not in bounds and bounds[0] > bounds[1]:  # type: ignore[operator]
        yield Fault(place, f"at least {bounds[0]:g}, at most {bounds[1]:g}", "a range that holds a value", "bad_range")
    if bounds != (None, None) and not variable.kind.numeric:
        yield Fault(place, f"a limit on {variable.name}, a {variable.kind.value}", "one_of", "limit_on_words")
    for word in requirement.one_of:
        if word not in codes_of(variable):
            yield Fault(f"{place}.one_of", word, suggestion(word, codes_of(variable)), "unknown_level")


def _plain_outcome(protocol: Protocol, known: Known) -> Iterator[Fault]:
    rules = protocol.outcome
    column = rules.column or ""
    yield from known.unknown("outcome.column", column)
    for key, given in (
        ("name", rules.name is not None),
        ("horizon_months", rules.horizon_months is not None),
        ("visit_window_months", rules.visit_window_months != 0),
        ("competes", bool(rules.competes)),
        ("censoring_by_centre", rules.censoring_by_centre),
    ):
        if given:
            yield Fault(
                f"outcome.{key}", f"{key} beside column", "either a plain column or a named outcome", "two_outcomes"
            )
    variable = known.variables.get(column)
    if variable is not None and rules.event_value not in codes_of(variable):
        accepted = f"event_value = one of {', '.join(codes_of(variable)) or 'the levels of a level or yes_no column'}"
        yield Fault("outcome.event_value", rules.event_value or "nothing", accepted, "unknown_level")
    if any(predictor.variable == column for predictor in protocol.predictors):
        yield Fault("outcome.column", f"{column}, which is also a predictor", "another column", "predicts_itself")


def _timed_outcome(protocol: Protocol, dictionary: Dictionary) -> Iterator[Fault]:
    rules = protocol.outcome
    if rules.name is None:
        yield Fault("outcome", "neither name nor column", "the name of an outcome, or a plain column", "missing_key")
    elif rules.name not in dictionary.outcomes:
        accepted = suggestion(rules.name, dictionary.outcomes)
        yield Fault("outcome.name", f"the unknown outcome {rules.name}", accepted, "unknown_outcome")
    if rules.event_value is not None:
        yield Fault("outcome.event_value", "event_value without column", "column, or no event_value", "two_outcomes")
    if rules.horizon_months is None:
        yield Fault("outcome.horizon_months", "nothing", "a number of months above 0", "missing_key")
    elif not 0 <= rules.visit_window_months < rules.horizon_months:
        accepted = f"at least 0 and under the horizon of {rules.horizon_months:g} months"
        yield Fault("outcome.visit_window_months", f"{rules.visit_window_months:g}", accepted, "bad_window")
    yield from _competing(protocol, dictionary)


def _competing(protocol: Protocol, dictionary: Dictionary) -> Iterator[Fault]:
    outcome = dictionary.outcomes.get(protocol.outcome.name or "")
    for name in protocol.outcome.competes:
        if name not in dictionary.events:
            accepted = suggestion(name, dictionary.events)
            yield Fault("outcome.competes", f"the unknown event {name}", accepted, "unknown_event")
        elif outcome is not None and (name == outcome.name or name in outcome.first_of):
            accepted = "an event that is no part of the outcome itself"
            yield Fault("outcome.competes", name, accepted, "competes_with_itself")


def _fit(protocol: Protocol) -> Iterator[Fault]:
    rules = protocol.fit
    for name in rules.candidates:
        if name not in CANDIDATES:
            yield Fault("fit.candidates", f"the unknown candidate {name}", suggestion(name, CANDIDATES), "unknown_word")
    if len(set(rules.candidates)) < len(rules.candidates):
        yield Fault("fit.candidates", "a candidate twice", "each candidate once", "double_candidate")
    yield from _choice(protocol)
    if rules.scale == "flat" and (rules.priors is not None or rules.centre_sd is not None):
        accepted = "flat without priors and centre_sd, or another scale"
        yield Fault("fit.scale", "flat beside priors", accepted, "flat_with_priors")
    if rules.centre_sd is not None and protocol.cohort.centre is None:
        yield Fault("fit.centre_sd", "no centre in [cohort]", "centre = a variable", "no_centre")
    if not protocol.predictors and set(rules.candidates) - set(_NEEDS_NO_PREDICTOR):
        yield Fault("predictor", "no predictor", "at least one [[predictor]]", "no_predictors")


def _choice(protocol: Protocol) -> Iterator[Fault]:
    rules = protocol.fit
    may_be = [name for name in rules.candidates if name in SHIPPABLE]
    accepted = f"{', '.join(may_be)} or {ONE_STANDARD_ERROR}"
    if not may_be:
        found = f"only {', '.join(rules.candidates)}" if rules.candidates else "no candidate"
        yield Fault("fit.candidates", found, f"{' or '.join(SHIPPABLE)} among them", "nothing_to_ship")
    elif rules.choose in rules.candidates and rules.choose not in SHIPPABLE:
        found = f"{rules.choose}, which is compared and reported but gives no number for a child"
        yield Fault("fit.choose", found, accepted, "not_shippable")
    elif rules.choose not in (*may_be, ONE_STANDARD_ERROR):
        yield Fault("fit.choose", rules.choose, accepted, "not_a_candidate")


def _report(protocol: Protocol, known: Known) -> Iterator[Fault]:
    low, high = protocol.report.thresholds
    if not 0 < low < high < 1:
        yield Fault("report.thresholds", f"{low:g} to {high:g}", "probabilities, 0 < low < high < 1", "bad_range")
    if protocol.report.era_from is not None and protocol.cohort.year is None:
        yield Fault("report.era_from", "no year in [cohort]", "year = a variable", "no_year")
    for name in protocol.report.subgroups:
        yield from known.may_split("report.subgroups", name)
    for names in protocol.gates.like_cases:
        for name in names:
            yield from known.may_split("gates.like_cases", name)
