"""How many children of the cohort were like a case, as far as a bundle may say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import COUNT_STEP, Bundle, Support
from riskmodel.cases.table import CaseTable
from riskmodel.dictionary.coding import codes_of, labels_of
from riskmodel.dictionary.model import Variable

FEWER = f"fewer than {COUNT_STEP}"
# A value that is not there, and a count that cannot be made.
ABSENT = -1
UNCOUNTED = -1


@dataclass(frozen=True, slots=True)
class Like:
    """Children of the cohort like each of n cases, by one combination of the support.

    `counts` (n,) rounded down to a multiple of 5, 0 for fewer than 5, -1 where the case lacks one of the variables;
    `described`: each distinct combination among the cases in words, and `which` (n,) of them a case has.
    """

    counts: NDArray[np.int64]
    described: tuple[str, ...]
    which: NDArray[np.int64]

    def of(self, case: int) -> tuple[str, int]:
        """The combination of one case in words, and the count."""
        return self.described[self.which[case]], int(self.counts[case])


def like_cases(bundle: Bundle, cases: CaseTable) -> tuple[Like, ...]:
    """For each combination of the support, the children like each case."""
    return tuple(_like(bundle, cases, support) for support in bundle.support)


def _like(bundle: Bundle, cases: CaseTable, support: Support) -> Like:
    variables = [bundle.dictionary.variables[name] for name in support.of]
    held = [cases[name] for name in support.of]
    values = np.column_stack([np.where(column.present, column.values, ABSENT) for column in held]).astype(np.int64)
    places: dict[tuple[int, ...], int] = {}
    which = np.array([places.setdefault(tuple(row), len(places)) for row in values.tolist()], dtype=np.int64)
    cells = {cell.codes: cell.at_least for cell in support.cells}
    counts = np.array([_counted(cells, variables, row) for row in places], dtype=np.int64)
    described = tuple(
        ", ".join(_value_words(variable, value) for variable, value in zip(variables, row, strict=True))
        for row in places
    )
    return Like(counts[which], described, which)


def _counted(cells: Mapping[tuple[str, ...], int], variables: Sequence[Variable], row: tuple[int, ...]) -> int:
    if ABSENT in row:
        return UNCOUNTED
    codes = tuple(codes_of(variable)[value] for variable, value in zip(variables, row, strict=True))
    return cells.get(codes, 0)


def _value_words(variable: Variable, value: int) -> str:
    return f"{variable.label}: {'not known' if value == ABSENT else labels_of(variable)[value]}"


def share_words(share: float) -> str:
    """A share of rounded counts for people; 0 stands for fewer than 5 children."""
    if share == 0.0:
        return f"{FEWER} children"
    return "under 1%" if share < 0.01 else f"{share:.0%}"


def count_words(count: int) -> str:
    """A rounded count for people."""
    return FEWER if count < COUNT_STEP else f"at least {count}"
