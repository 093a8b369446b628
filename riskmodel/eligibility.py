"""Who a model is for: conditions on single variables, the same at fitting (flow) and at scoring (gate)."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import CaseTable
from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Dictionary, Kind, Variable

Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Requirement:
    """One condition: `variable` at least / at most a number, or one of some levels or yes/no words."""

    variable: str
    at_least: float | None = None
    at_most: float | None = None
    one_of: tuple[str, ...] = ()


def meets(cases: CaseTable, requirements: Iterable[Requirement], dictionary: Dictionary) -> tuple[Marks, Marks]:
    """Whether each case meets all requirements, and where that is not known.

    Returns
    -------
    met : (n,) every requirement is met
    unknown : (n,) no requirement is known to be failed, but some value is not there

    Raises
    ------
    KeyError
        When the dictionary has no such variable or level; the reader of the protocol asks first.
    """
    met, failed = np.ones(len(cases), dtype=np.bool_), np.zeros(len(cases), dtype=np.bool_)
    for requirement in requirements:
        passed, absent = meets_one(cases, requirement, dictionary)
        met &= passed
        failed |= ~passed & ~absent
    return met, ~met & ~failed


def meets_one(cases: CaseTable, requirement: Requirement, dictionary: Dictionary) -> tuple[Marks, Marks]:
    """(n,) whether each case meets one requirement, and (n,) where its value is not there; never both."""
    if requirement.variable not in cases:
        return np.zeros(len(cases), dtype=np.bool_), np.ones(len(cases), dtype=np.bool_)
    held = cases[requirement.variable]
    passed = held.present.copy()
    if requirement.at_least is not None:
        passed &= held.values >= requirement.at_least
    if requirement.at_most is not None:
        passed &= held.values <= requirement.at_most
    if requirement.one_of:
        passed &= _among(held.values, requirement, dictionary.variables[requirement.variable])
    return passed, ~held.present


def words(requirements: Iterable[Requirement], dictionary: Dictionary) -> str:
    """The requirements in words for a person.

    Raises
    ------
    KeyError
        When the dictionary has no such variable.

    >>> from riskmodel import dictionary
    >>> words([Requirement("age_years", at_most=18)], dictionary.read("cvj"))
    'Age at the operation: at most 18 years'
    """
    return "; ".join(_words(requirement, dictionary.variables[requirement.variable]) for requirement in requirements)


def _among(values: NDArray[np.float64], requirement: Requirement, variable: Variable) -> Marks:
    places = [codes_of(variable).index(code) for code in requirement.one_of]
    if variable.kind is Kind.FLAGS:
        mask = sum(1 << place for place in places)
        carried: Marks = (np.nan_to_num(values).astype(np.int64) & mask) != 0
        return carried
    return np.isin(values, places)


def _words(requirement: Requirement, variable: Variable) -> str:
    labels = {level.code: level.label for level in variable.levels}
    bounds = {"at least": requirement.at_least, "at most": requirement.at_most}
    parts = [f"{words} {_amount(value, variable.unit)}" for words, value in bounds.items() if value is not None]
    parts += [" or ".join(labels.get(code, code) for code in requirement.one_of)] if requirement.one_of else []
    return f"{variable.label}: {', '.join(parts)}"


def _amount(value: float, unit: str) -> str:
    """A number with its unit; one of what is counted is told in the singular."""
    return f"{value:g} {unit.removesuffix('s') if value == 1 else unit}".strip()
