"""How well a model did in each centre and subgroup, with "too few to say" where that is so, and between centres."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Column, Floats
from riskmodel.dictionary.coding import labels_of
from riskmodel.dictionary.model import Variable
from training.meta import Pooled, random_effects
from training.metrics import TOO_FEW, Estimates, Ranged, estimates, too_few_events
from training.updating.children import Children
from training.updating.performance import by_formula

RATIO = "log_observed_expected"
POOLED = ("logit_c", RATIO, "slope")


@dataclass(frozen=True, slots=True)
class Part:
    """Some of the children: of what (`centre`, or a variable's label), which, how many, and the model's measures.

    Under 10 events `measures` holds no number but observed / expected; without an event or a non-event none at all.
    """

    of: str
    name: str
    children: int
    known: int
    events: int
    measures: Mapping[str, Ranged]

    @property
    def few(self) -> bool:
        """Whether there are too few events, or too few children without one, to say more than observed / expected."""
        return too_few_events(self.events, self.known - self.events) is not None


def parts(children: Children) -> tuple[Part, ...]:
    """Centres, and the subgroups that the protocol asks for; children of whom it is not known are a part too."""
    return tuple(_part(children, of, name, rows) for of, name, rows in _groups(children))


def _groups(children: Children) -> Iterator[tuple[str, str, NDArray[np.bool_]]]:
    for name, rows in centres(children):
        yield "centre", name, rows
    for variable in children.protocol.report.subgroups:
        described = children.cohort.dictionary.variables[variable]
        held = children.cohort.cases[variable]
        for label, rows in _levels(described, held):
            yield described.label, label, rows


def centres(children: Children) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    """Each centre with (n,) who is of it."""
    held = children.cohort.centre
    if held is not None:
        yield from _labelled(held, held.labels)


def _levels(variable: Variable, held: Column) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    yield from _labelled(held, labels_of(variable))


def _labelled(held: Column, labels: tuple[str, ...]) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    for place, label in enumerate(labels):
        rows = held.present & (held.values == place)
        if rows.any():
            yield label, rows
    if not held.present.all():
        yield "not known", ~held.present


def _part(children: Children, of: str, name: str, rows: NDArray[np.bool_]) -> Part:
    events, others = children.outcome.ends(rows)
    stated = rows & children.cohort.course.known
    held = by_formula(children, stated)
    if too_few_events(events, others) is not None:
        nothing = Ranged.none(TOO_FEW)
        held = {measure: told if measure == "observed_expected" else nothing for measure, told in held.items()}
    return Part(of, name, int(stated.sum()), events + others, events, held)


def between_centres(children: Children) -> Mapping[str, Pooled]:
    """Measures pooled over the centres by random effects; empty with fewer than two centres that tell one.

    c and slope over the centres with enough events. Observed / expected over every centre with an event: those with
    enough events are those where more happened, and a mean over them alone lies too high (docs/recovery.md).
    """
    each = [
        (estimates(*_sample(children, rows)), too_few_events(*children.outcome.ends(rows)) is None)
        for _, rows in centres(children)
    ]
    pooled = {}
    for measure in POOLED:
        pairs = _pairs([held for held, enough in each if enough or measure == RATIO], measure)
        if len(pairs) >= 2:
            effects, errors = zip(*pairs, strict=True)
            pooled[measure] = random_effects(effects, errors)
    return pooled


def _sample(children: Children, rows: NDArray[np.bool_]) -> tuple[Floats, Floats, Floats]:
    stated = rows & children.cohort.course.known
    outcome = children.outcome
    return outcome.label[stated], children.probability[stated], outcome.weight[stated]


def _pairs(held: list[Estimates], measure: str) -> list[tuple[float, float]]:
    found = [getattr(each, measure) for each in held]
    return [(each.value, each.standard_error) for each in found if each.value is not None and each.standard_error]
