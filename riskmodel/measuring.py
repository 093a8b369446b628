"""What measuring a missing value would buy: the width of the interval now, and with the value known."""

from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import CaseTable
from riskmodel.missing import complete, holes
from riskmodel.model import Model

# The value that would be measured is not known either: the width is averaged over this many likely ones.
LIKELY_VALUES = 8


@dataclass(frozen=True, slots=True)
class MissingValue:
    """A variable that the case lacks: interval widths (probability) now and if it were measured."""

    variable: str
    label: str
    unit: str
    interval_width_now: float
    interval_width_if_measured: float


def what_measuring_buys(model: Model, case: CaseTable, width_now: float) -> tuple[MissingValue, ...]:
    """One entry for each variable that the single case lacks."""
    lacking = lacking_variables(model, case)
    if not lacking:
        return ()
    likely = complete(case, model.recipe.moments, model.recipe.moments.mean_normals[:LIKELY_VALUES])
    return tuple(_entry(model, case, likely, name, width_now) for name in lacking)


def lacking_variables(model: Model, case: CaseTable) -> tuple[str, ...]:
    """Variables that the single case must have completed."""
    blocks = model.recipe.moments.blocks
    lacks = holes(case, blocks)[0]
    return tuple(dict.fromkeys(block.variable for block, hole in zip(blocks, lacks, strict=True) if hole))


def _entry(model: Model, case: CaseTable, likely: CaseTable, name: str, width_now: float) -> MissingValue:
    variable = model.recipe.dictionary.variables[name]
    measured = case.take(np.zeros(len(likely), dtype=np.intp)).with_columns({name: likely[name]})
    still = model.recipe.holes(measured).any()
    low, high = model.interval(model.recipe.drawn(measured) if still else model.recipe.expected(measured))
    return MissingValue(name, variable.label, variable.unit, width_now, float((high - low).mean()))
