"""The bundle after an update: what changes with the model, and what stays its parent's."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle, Use
from training.candidates import FitLog, Fitted
from training.fitting.assemble import MADE_WITH, has_signal
from training.fitting.coarse import coarse_means, indicators, shown_children
from training.fitting.disclosure import cohort_facts, ranges, supports
from training.fitting.join import joined_ranges, joined_supports
from training.fitting.performance import definitions, uncorrected
from training.metrics import gain_over_rate, measures
from training.outcome import kish, known_rate
from training.updating.children import Children
from training.updating.closed_test import Branch
from training.updating.steps import Step

ADAPTED = (
    "measured on the children that the model was adapted to, each left out of that in turn, approximately; a check on "
    "others has yet to come"
)


def renewed(children: Children, taken: Step, *, branch: Branch | None, learned: NDArray[np.bool_], on: date) -> Bundle:
    """The bundle after a step, without the record of it.

    `branch` is None for an update by the parent's beliefs. A model that is kept stays as it was, checks and use too. A
    model that changed is for study until it is checked on children who took no part; ranges and like cases are the
    parent's where its effects are, the children's where all effects were estimated from them, and of both where both
    speak.
    """
    before = children.bundle
    aged = replace(
        before,
        released=on,
        review_by=on + (before.review_by - before.released),
        parents=(*before.parents, before.digest),
        made_with={name: version(name) for name in ("riskmodel", *MADE_WITH)},
        digest="",
    )
    if branch is Branch.ORIGINAL:
        return aged
    changed = replace(
        aged,
        use=Use.STUDY,
        intercept=taken.intercept,
        coefficients=taken.coefficients,
        draws=taken.draws,
        cohort_rate=known_rate(children.cohort.course, children.protocol.outcome),
        performance=_performance(children, taken),
        local_checks=(),
    )
    if branch in (Branch.INTERCEPT, Branch.RECALIBRATED):
        turned = branch is Branch.RECALIBRATED and bool((taken.coefficients * before.coefficients < 0.0).any())
        return replace(changed, stability=() if turned else before.stability)
    return _relearned(children, changed, taken, learned, alone=branch is Branch.REFITTED)


def _relearned(children: Children, changed: Bundle, taken: Step, learned: NDArray[np.bool_], *, alone: bool) -> Bundle:
    """Coefficients moved one by one: directions were not replayed, and the children speak for ranges too."""
    cohort, protocol, outcome = children.cohort, children.protocol, children.outcome
    own_ranges, own_supports = ranges(cohort, protocol), supports(cohort, protocol, outcome)
    own_facts = cohort_facts(cohort, protocol, outcome)
    facts = own_facts if alone else changed.cohort
    kinds = indicators(changed.terms, changed.dictionary)
    means = coarse_means(children.columns.mean(axis=0), kinds, shown_children(own_facts))
    return replace(
        changed,
        stability=(),
        # A mean would tell how many children carry a column that nothing may be learned from.
        column_means=np.where(learned, means, changed.column_means * (not alone)),
        ranges=own_ranges if alone else joined_ranges([changed.ranges, own_ranges]),
        support=own_supports if alone else joined_supports([changed.support, own_supports]),
        signal=_signal(children, taken) if alone else changed.signal,
        cohort=facts,
    )


def _signal(children: Children, taken: Step) -> bool:
    outcome = children.outcome
    # The threshold is one for weights that sum to the effective number of children.
    factor = kish(outcome.weight, np.ones(len(outcome)))
    gain = factor * gain_over_rate(outcome.label, taken.left_out, outcome.weight)
    return has_signal(Fitted("updated", taken.left_out, FitLog(), gain=gain), outcome)


def _performance(children: Children, taken: Step) -> Mapping[str, Any]:
    """Every measure of the changed model on these children, each as if left out of the change."""
    outcome, counted = children.outcome, children.cohort.course.known.astype(np.int64)
    held = measures(outcome.label, taken.left_out, outcome.weight, counts=counted)
    told = {name: uncorrected(measure.value, measure.reason or ADAPTED) for name, measure in held.items()}
    return {"measures": told, "definitions": definitions(told, apparent=ADAPTED)}
