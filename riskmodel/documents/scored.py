"""A case, the model that it was scored with, and the answer: what every document about a child is made from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from riskmodel.bundle import Bundle
from riskmodel.cases.table import STATE_WORDS, CaseTable, Column
from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Variable
from riskmodel.errors import Finding
from riskmodel.missing import Holds
from riskmodel.scoring import RiskEstimate, Scorer


@dataclass(frozen=True, slots=True)
class Scored:
    """One child (a table of one row) under one model; `doubts` are warnings about the values typed.

    `plan_contradicts`: the plan that the number rests on contradicts itself or the images. `typed`: everything that the
    case says, also what the model does not read.
    """

    bundle: Bundle
    case: CaseTable
    estimate: RiskEstimate
    doubts: tuple[Finding, ...] = ()
    plan_contradicts: bool = False
    typed: Mapping[str, object] = field(default_factory=dict)

    def word(self, name: str) -> str | None:
        """A word as the case says it, read by the model or not; None where it says none, or that there is none."""
        said = str(self.typed.get(name) or "")
        return None if not said or said in STATE_WORDS else said

    @property
    def like_cases(self) -> int:
        """Children of the cohort like this one, rounded down; 0 for fewer than 5, or when they cannot be counted."""
        if not self.estimate.like_cases:
            return 0
        return counted(self.estimate.like_cases[0].count)

    @property
    def rare(self) -> bool:
        """Whether fewer than 5 children of the cohort had this child's level of a variable that leans on groups."""
        return any(_rare(self.bundle, self.case[name], name) for name in self._pooled if name in self.case)

    @property
    def _pooled(self) -> tuple[str, ...]:
        return tuple(name for name, held in self.bundle.dictionary.variables.items() if held.grouped_by)


def score(scorer: Scorer, case: Mapping[str, object], *, on: date, case_id: str = "") -> Scored:
    """Score one case, given as variable -> value.

    Raises
    ------
    CasesRefused
        With everything that cannot be true or cannot be read.
    """
    table, doubts = scorer.read_case(case, case_id=case_id)
    return Scored(scorer.bundle, table, scorer.score_table(table, on=on)[0], doubts, typed=dict(case))


def counted(words: str) -> int:
    """The number in a rounded count, 0 for fewer than 5: the inverse of `gates.count_words`.

    >>> counted("at least 40"), counted("fewer than 5")
    (40, 0)
    """
    return int(words.rsplit(" ", 1)[-1]) if words.startswith("at least ") else 0


def _rare(bundle: Bundle, held: Column, name: str) -> bool:
    """Levels that at least 5 children had have a coordinate in the moments, or are the commonest."""
    if not held.present[0]:
        return False
    blocks = (block for block in bundle.moments.blocks if block.variable == name and block.holds is Holds.LEVEL)
    code = _code(bundle.dictionary.variables[name], held)
    return any(code not in (*block.names, block.rest) for block in blocks)


def _code(variable: Variable, held: Column) -> str:
    value = int(held.values[0])
    return codes_of(variable)[value]
