"""How fast children are scored: one at a time, a table as arrays, a table as full answers."""

from datetime import date
from time import perf_counter

import numpy as np

from riskmodel.cases.casefile import read_case_file
from riskmodel.cases.table import CaseTable
from riskmodel.scoring import Scorer
from tests import demonstration

ON = date(2026, 12, 1)
TABLE = 50_000
FULL = 5_000


def repeated(cases: CaseTable, count: int) -> CaseTable:
    """The complete cases, over and over."""
    return cases.take(np.resize(np.arange(len(cases)), count))


def main() -> bool:
    """Print the figures; they have no peer, so that nothing fails."""
    scorer = Scorer(demonstration.bundle())
    values = dict(read_case_file(demonstration.CASES / "TW-204.toml").values)
    scorer.score(values, on=ON)
    begin = perf_counter()
    for _ in range(100):
        scorer.score(values, on=ON)
    one = (perf_counter() - begin) / 100
    cohort = demonstration.cohort().cases
    complete = cohort.take(~scorer.model.recipe.holes(cohort))
    table = repeated(complete, TABLE)
    begin = perf_counter()
    scorer.arrays(table, on=ON)
    arrays = TABLE / (perf_counter() - begin)
    table = repeated(complete, FULL)
    begin = perf_counter()
    scorer.score_table(table, on=ON)
    full = FULL / (perf_counter() - begin)
    print("scoring, the short demonstration model")
    print(f"  one child, in process: {1000 * one:.1f} ms (goal 5 ms)")
    print(f"  a table as arrays: {arrays:,.0f} children a second (goal 50,000)")
    print(f"  a table as full answers: {full:,.0f} children a second (goal 5,000)")
    return True
