"""Who is eligible: known to be, known not to be, or not known."""

import numpy as np
import pytest

from riskmodel import cases, dictionary, eligibility
from riskmodel.cases.table import CaseTable
from riskmodel.eligibility import Requirement
from riskmodel.tables import Cell, RawTable

CVJ = dictionary.read("cvj")


def _cases(**columns: list[Cell]) -> CaseTable:
    rows = tuple(zip(*columns.values(), strict=True))
    table, findings = cases.check(RawTable("c", tuple(columns), rows, 1, tuple(range(2, len(rows) + 2))), CVJ)
    assert not [finding for finding in findings if finding.severity.value == "error"]
    return table


CASES = _cases(
    age_years=["4", "12", "", "18"],
    prior_cvj_surgery=["0", "2", "0", ""],
    sex=["female", "male", "female", "female"],
    planned_decompression=["none", "c1_arch+foramen_magnum", "c1_arch", ""],
)


@pytest.mark.parametrize(
    ("requirement", "met", "absent"),
    [
        (Requirement("age_years", at_least=5), [0, 1, 0, 1], [0, 0, 1, 0]),
        (Requirement("age_years", at_most=12), [1, 1, 0, 0], [0, 0, 1, 0]),
        (Requirement("age_years", at_least=12, at_most=12), [0, 1, 0, 0], [0, 0, 1, 0]),
        (Requirement("sex", one_of=("female",)), [1, 0, 1, 1], [0, 0, 0, 0]),
        (Requirement("sex", one_of=("female", "male")), [1, 1, 1, 1], [0, 0, 0, 0]),
        (Requirement("planned_decompression", one_of=("foramen_magnum",)), [0, 1, 0, 0], [0, 0, 0, 1]),
        (Requirement("planned_decompression", one_of=("c1_arch", "ventral")), [0, 1, 1, 0], [0, 0, 0, 1]),
        (Requirement("nurick_grade", at_most=2), [0, 0, 0, 0], [1, 1, 1, 1]),
    ],
)
def test_one_requirement(requirement: Requirement, met: list[int], absent: list[int]) -> None:
    passed, unknown = eligibility.meets_one(CASES, requirement, CVJ)
    np.testing.assert_array_equal(passed, np.array(met, dtype=bool))
    np.testing.assert_array_equal(unknown, np.array(absent, dtype=bool))


def test_all_must_be_met_and_one_known_failure_decides() -> None:
    both = [Requirement("age_years", at_most=12), Requirement("prior_cvj_surgery", at_most=0)]
    met, unknown = eligibility.meets(CASES, both, CVJ)
    assert list(met) == [True, False, False, False]
    assert list(unknown) == [False, False, True, False]


def test_without_requirements_everyone_is_eligible() -> None:
    met, unknown = eligibility.meets(CASES, [], CVJ)
    assert met.all()
    assert not unknown.any()


def test_yes_and_no_are_words_too() -> None:
    held = _cases(includes_occiput=["yes", "no", ""])
    met, unknown = eligibility.meets(held, [Requirement("includes_occiput", one_of=("no",))], CVJ)
    assert list(met) == [False, True, False]
    assert list(unknown) == [False, False, True]


def test_requirements_are_said_in_words_with_units_and_labels() -> None:
    told = eligibility.words(
        [
            Requirement("age_years", at_least=1.5, at_most=18),
            Requirement("sex", one_of=("female", "male")),
            Requirement("includes_occiput", one_of=("no",)),
        ],
        CVJ,
    )
    assert (
        told == "Age at the operation: at least 1.5 years, at most 18 years; Sex: Female or Male; Occiput included: no"
    )
