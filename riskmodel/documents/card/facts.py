"""Parts of the card that are read off the bundle: outcome, population, gates, checks, updates."""

from collections.abc import Iterator, Sequence

from riskmodel import eligibility
from riskmodel.bundle import COUNT_STEP, Bundle, Support
from riskmodel.dictionary.model import Variable
from riskmodel.documents.card.model import (
    Check,
    GateLine,
    LevelRange,
    LikeCases,
    LikeCell,
    NumberRange,
    Population,
    Predicted,
    UpdateLine,
)
from riskmodel.documents.words import fixed, human
from riskmodel.gates import BLOCKING
from riskmodel.like_cases import count_words


def predicted(bundle: Bundle) -> Predicted:
    """What is predicted and what it is made of."""
    definition = bundle.dictionary.outcomes.get(bundle.outcome.name)
    labels = {name: event.label for name, event in bundle.dictionary.events.items()}

    def told(names: Sequence[str]) -> tuple[str, ...]:
        return tuple(labels.get(name, human(name)) for name in names)

    rules = bundle.protocol.get("outcome", {})
    made_of = bundle.cohort.get("made_of", {})
    competes = () if definition is None else (*definition.competes, *rules.get("competes", ()))
    return Predicted(
        label=bundle.outcome.label,
        text=bundle.outcome.text,
        horizon_months=bundle.outcome.horizon_months,
        visit_window_months=float(rules.get("visit_window_months", 0.0)),
        first_of=() if definition is None else told(definition.first_of),
        competes=told(tuple(dict.fromkeys(competes))),
        never_counts=() if definition is None else told(definition.never_counts),
        seen_until=None if definition is None else human(definition.seen_until),
        made_of=tuple((labels.get(name, human(name)), str(count)) for name, count in made_of.items()),
        rate=bundle.cohort_rate,
    )


def population(bundle: Bundle) -> Population:
    """For whom the model speaks."""
    variables = bundle.dictionary.variables
    return Population(
        moment=human(bundle.gates.moment.value),
        eligible=eligibility.words(bundle.gates.only, bundle.dictionary),
        numbers=tuple(
            NumberRange(name, variables[name].label, low, high, variables[name].unit)
            for name, (low, high) in bundle.ranges.numbers.items()
            if not variables[name].levels
        ),
        levels=tuple(_levels(bundle)),
        like_cases_at_least=bundle.gates.like_cases_at_least,
        like_cases=tuple(_like_cases(bundle, support) for support in bundle.support),
    )


def _levels(bundle: Bundle) -> Iterator[LevelRange]:
    """Levels and, of an ordinal, steps that the cohort had."""
    variables = bundle.dictionary.variables
    for name, (low, high) in bundle.ranges.numbers.items():
        steps = variables[name].levels[int(low) : int(high) + 1]
        if steps:
            yield LevelRange(name, variables[name].label, tuple(step.label for step in steps))
    for name, codes in bundle.ranges.levels.items():
        yield LevelRange(name, variables[name].label, tuple(_level_label(variables[name], code) for code in codes))


def _like_cases(bundle: Bundle, support: Support) -> LikeCases:
    variables = [bundle.dictionary.variables[name] for name in support.of]
    cells = tuple(
        LikeCell(
            tuple(_level_label(variable, code) for variable, code in zip(variables, cell.codes, strict=True)),
            count_words(cell.at_least),
        )
        for cell in support.cells
    )
    return LikeCases(tuple(variable.label for variable in variables), cells)


def _level_label(variable: Variable, code: str) -> str:
    return next((level.label for level in variable.levels if level.code == code), human(code))


def gates(bundle: Bundle) -> tuple[GateLine, ...]:
    """What has to hold before a number is shown, and what is only said beside it."""
    moment = bundle.gates.moment.value
    asked = {
        "eligible": eligibility.words(bundle.gates.only, bundle.dictionary) or "every child",
        "range": "every measurement within what the cohort had, and every level one that it had",
        "like_cases": _needed_alike(bundle),
        "moment": f"nothing in the case that is known only after the moment '{moment}'",
        "expiry": f"from {bundle.released} to {bundle.review_by}",
        "signal": "whether the predictors told more about left-out children than the rate did",
        "local_check": "whether the model was checked on local patients",
        "use": "whether it is for study, or released for local use",
        "demonstration": "whether it was made from invented data",
    }
    return tuple(GateLine(name, name in BLOCKING, says) for name, says in asked.items())


def _needed_alike(bundle: Bundle) -> str:
    if not bundle.support:
        return "the protocol asks for none"
    of = ", ".join(bundle.dictionary.variables[name].label for name in bundle.support[0].of)
    return f"at least {bundle.gates.like_cases_at_least} children of the cohort with the same: {of}"


def checks(bundle: Bundle) -> tuple[Check, ...]:
    """The checks on other patients, oldest first, counts rounded down as everywhere in a bundle."""
    return tuple(
        Check(
            on=held.on,
            centre=held.centre,
            children=_rounded(held.children),
            events=_rounded(held.events),
            observed_expected=held.observed_expected,
            low=held.low,
            high=held.high,
            c=held.c,
        )
        for held in bundle.local_checks
    )


def updates(bundle: Bundle) -> tuple[UpdateLine, ...]:
    """How the model came from its parents, oldest first."""
    return tuple(
        UpdateLine(
            parent=held.parent,
            on=held.on,
            method=human(held.method),
            chosen=human(held.chosen),
            children=_rounded(held.children),
            events=_rounded(held.events),
            interval=held.interval,
            moved=tuple(f"{move.what}: {fixed(move.before, 3)} to {fixed(move.after, 3)}" for move in held.moved),
            tests=held.tests,
            facts=held.facts or "not recorded",
        )
        for held in bundle.updates
    )


def _rounded(count: int) -> str:
    return count_words(count - count % COUNT_STEP)
