"""What measuring a missing value would buy: the width of the interval now, and with the value known."""

from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import CaseTable, Column, State, column
from riskmodel.dictionary.model import Kind
from riskmodel.missing import complete, holes
from riskmodel.model import Model


@dataclass(frozen=True, slots=True)
class MissingValue:
    """A variable that the case lacks: interval widths (probability) now, and if it were measured.

    The value that would be measured is not known either: it is taken to be the most likely one for such a child.
    """

    variable: str
    label: str
    unit: str
    interval_width_now: float
    interval_width_if_measured: float

    @property
    def of_100(self) -> tuple[int, int]:
        """Both widths in whole children of 100."""
        return round(100 * self.interval_width_now), round(100 * self.interval_width_if_measured)

    @property
    def narrows(self) -> bool:
        """Whether measuring would narrow the interval by anything that a page shows."""
        now, then = self.of_100
        return then < now


def what_measuring_buys(model: Model, case: CaseTable, width_now: float) -> tuple[MissingValue, ...]:
    """One entry for each variable that the single case lacks."""
    lacking = lacking_variables(model, case)
    if not lacking:
        return ()
    likely = complete(case, model.recipe.moments, model.recipe.moments.mean_normals)
    return tuple(_entry(model, case, likely[name], name, width_now) for name in lacking)


def lacking_variables(model: Model, case: CaseTable) -> tuple[str, ...]:
    """Variables that the single case must have completed."""
    blocks = model.recipe.moments.blocks
    lacks = holes(case, blocks)[0]
    return tuple(dict.fromkeys(block.variable for block, hole in zip(blocks, lacks, strict=True) if hole))


def _entry(model: Model, case: CaseTable, likely: Column, name: str, width_now: float) -> MissingValue:
    variable = model.recipe.dictionary.variables[name]
    measured = case.with_columns({name: _most_likely(likely, whole=variable.kind in (Kind.LEVEL, Kind.YES_NO))})
    still = model.recipe.holes(measured).any()
    low, high = model.interval(model.recipe.drawn(measured) if still else model.recipe.expected(measured))
    return MissingValue(name, variable.label, variable.unit, width_now, float(high[0] - low[0]))


def _most_likely(likely: Column, *, whole: bool) -> Column:
    """The commonest state of the completions; if a value is there, the commonest level or the mean number."""
    state = int(np.bincount(likely.states).argmax())
    if state != State.PRESENT:
        return column([np.nan], [state])
    values = likely.values[likely.present]
    return column([float(np.bincount(values.astype(np.intp)).argmax()) if whole else float(values.mean())])
