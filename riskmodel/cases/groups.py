"""Groups that follow from a level: a condition's mechanism is filled in, or held against what the file says."""

from collections.abc import Mapping

import numpy as np

from riskmodel.cases.sheet import Sheet, rows_where
from riskmodel.cases.table import Column, column
from riskmodel.dictionary.model import Dictionary, Variable


def with_groups(columns: Mapping[str, Column], dictionary: Dictionary, sheet: Sheet) -> dict[str, Column]:
    """The columns with every group that follows from a level that is there."""
    out = dict(columns)
    for variable in dictionary.variables.values():
        if variable.grouped_by is not None and variable.name in out:
            target = dictionary.variables[variable.grouped_by]
            out[target.name] = _filled(out[variable.name], variable, out.get(target.name), target, sheet)
    return out


def _filled(held: Column, variable: Variable, given: Column | None, target: Variable, sheet: Sheet) -> Column:
    places = [target.codes.index(level.group or "") for level in variable.levels]
    values = np.full(len(held.values), np.nan)
    values[held.present] = np.array(places, dtype=np.float64)[held.values[held.present].astype(np.intp)]
    following = column(values)
    if given is None:
        return following
    for row in rows_where(following.present & given.present & (given.values != values)):
        code = variable.codes[int(held.values[row])]
        found = f"{target.codes[int(given.values[row])]}, but {variable.name} is {code}"
        accepted = f"{target.codes[int(values[row])]}, which follows from it, or nothing"
        sheet.cell(row, target.name, found, accepted, "group_disagrees")
    return following.filled_from(given)
