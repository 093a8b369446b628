"""Kinds of children, as the protocol names them: how the estimates stand in each, or that there are too few to say."""

from dataclasses import dataclass

import numpy as np

from riskmodel.dictionary.coding import labels_of
from training.validation.refit import Examined
from training.validation.standing import Standing, standing

NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Subgroups:
    """One variable and its kinds of children, those of whom it is not known last."""

    variable: str
    label: str
    kinds: tuple[Standing, ...]


def by_kind(held: Examined) -> tuple[Subgroups, ...]:
    """Standings of the left-out estimates in every subgroup of the protocol."""
    return tuple(_subgroups(held, name) for name in held.protocol.report.subgroups)


def _subgroups(held: Examined, name: str) -> Subgroups:
    variable, cell = held.cohort.dictionary.variables[name], held.cohort.cases[name]
    known = held.cohort.course.known
    kinds = {label: known & (cell.values == code) for code, label in enumerate(labels_of(variable))}
    kinds[NOT_KNOWN] = known & ~cell.present
    told = {label: rows for label, rows in kinds.items() if np.any(rows)}
    return Subgroups(
        name, variable.label, tuple(standing(label, held.outcome, held.left_out, rows) for label, rows in told.items())
    )
