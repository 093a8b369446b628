"""From rows of measurements to one value per child."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.cells import in_range
from riskmodel.cases.columns import report
from riskmodel.cases.table import Column, Floats, State, column
from riskmodel.dictionary.model import Variable
from riskmodel.errors import Finding, Severity
from training.cohort.rows.further import Long
from training.cohort.rows.readers import Readers, readers_of
from training.protocol.row_rules import MeasureRule, When

SAME_TIME_MONTHS = 0.05  # a day is 0.03, and times are often written with one decimal
WHAT, VALUE, UNIT, MONTHS = "measure_variable", "measure_value", "measure_unit", "measure_months"
MODALITY, POSITION, TRACTION, READER = "measure_modality", "measure_position", "measure_traction", "measure_reader"
NEEDED = (WHAT, VALUE, MONTHS, MODALITY, POSITION)

Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Measured:
    """A predictor made of measurements.

    `values`: the column. `low`, `high` (n,): the lowest and highest reading that went into each value. `otherwise`
    (n,): whose value is of the modality that stands in.
    """

    values: Column
    low: Floats
    high: Floats
    otherwise: Marks
    readers: Readers | None = None


def of_variable(rows: Long, name: str) -> Marks:
    """(m,) the rows that measure a variable."""
    held = rows[WHAT]
    places = [place for place, label in enumerate(held.labels) if label == name]
    return held.present & np.isin(held.values, places)


def measured(rows: Long, rule: MeasureRule, count: int, codes: tuple[tuple[str, ...], tuple[str, ...]]) -> Measured:
    """The value of each of `count` children; what contradicts the rule is reported to the rows' sheet.

    `codes`: the words of modality and of position, in the order in which their columns count them.
    """
    fits = of_variable(rows, rule.of) & _after(rows, after=rule.when.after) & ~rows[VALUE].missing
    fits &= (rows[TRACTION].values == 1) == rule.traction
    fits &= rows[POSITION].values == codes[1].index(rule.position)
    picked: dict[int, list[int]] = {}
    otherwise = np.zeros(count, dtype=np.bool_)
    for modality in (rule.modality, rule.otherwise):
        if modality is not None:
            chosen = fits & (rows[MODALITY].values == codes[0].index(modality))
            for child, held in _by_child(rows, chosen).items():
                if child not in picked:
                    picked[child] = held
                    otherwise[child] = modality != rule.modality
    return _folded(rows, rule, picked, otherwise)


def _after(rows: Long, *, after: bool) -> Marks:
    months = rows[MONTHS].values
    return months > 0 if after else months <= 0


def _by_child(rows: Long, chosen: Marks) -> dict[int, list[int]]:
    """The chosen rows of each child, in order of time."""
    order = np.flatnonzero(chosen)
    order = order[np.argsort(rows[MONTHS].values[order], kind="stable")]
    held: dict[int, list[int]] = {}
    for row in order.tolist():
        held.setdefault(int(rows.child[row]), []).append(row)
    return held


def _folded(rows: Long, rule: MeasureRule, picked: dict[int, list[int]], otherwise: Marks) -> Measured:
    count = len(otherwise)
    states = np.full(count, State.MISSING, dtype=np.int8)
    values, low, high = (np.full(count, np.nan) for _ in range(3))
    readings: list[list[float]] = []
    for child, held in picked.items():
        used = _times(rows, rule.when, held)
        read = [_readings(rows, rule, each) for each in used]
        readings += [each for each in read if each]
        if not used:
            continue
        if all(read):
            means = [sum(each) / len(each) for each in read]
            values[child] = means[-1] - (means[0] if len(means) > 1 else 0.0)
            low[child], high[child] = min(read[-1]), max(read[-1])
            states[child] = State.PRESENT
        elif len(used) == 1:
            states[child] = rows[VALUE].states[used[0][0]]
    return Measured(column(values, states), low, high, otherwise, readers_of(readings))


def _times(rows: Long, when: When, held: list[int]) -> list[list[int]]:
    """The rows of the time that counts; of the first and the last for a change, nothing where these are one."""
    months = rows[MONTHS].values
    first = [row for row in held if months[row] - months[held[0]] <= SAME_TIME_MONTHS]
    last = [row for row in held if months[held[-1]] - months[row] <= SAME_TIME_MONTHS]
    if when is When.CHANGE_AFTER:
        return [first, last] if first[0] not in last else []
    return [first if when.first else last]


def _readings(rows: Long, rule: MeasureRule, held: list[int]) -> list[float]:
    """What each reader read at one time; two readers, or two rows of one, must be what the rule speaks of."""
    who = [float(rows[READER].values[row]) for row in held]
    if len({value for value in who if value == value}) + sum(value != value for value in who) < len(who):
        _twice(rows, held, "two rows by the same reader of the same time", "one row per reader and time")
    elif len(held) > 1 and rule.readers is None:
        accepted = 'one reader, or readers = "mean" in the protocol'
        _twice(rows, held, f"{len(held)} readers of {rule.of} at the same time", accepted)
    return [float(rows[VALUE].values[row]) for row in held if rows[VALUE].present[row]]


def _twice(rows: Long, held: list[int], found: str, accepted: str) -> None:
    others = ", ".join(str(rows.sheet.numbers[row]) for row in held[:-1])
    rows.sheet.cell(held[-1], READER, f"{found} (row {others})", accepted, "readers")


def look_at_values(rows: Long, variables: Mapping[str, Variable]) -> None:
    """Report rows that measure nothing known, in another unit, or what the variable cannot be."""
    for place, name in enumerate(rows[WHAT].labels):
        of = np.flatnonzero(rows[WHAT].values == place).tolist()
        variable = variables.get(name)
        if variable is None or not variable.kind.numeric:
            for row in of:
                accepted = "the name of a variable of the dictionary that is a number"
                rows.sheet.cell(row, WHAT, "no such variable", accepted, "unknown_variable")
            continue
        for row in of:
            _look_at(rows, row, variable)


def _look_at(rows: Long, row: int, variable: Variable) -> None:
    held, unit = rows[VALUE], rows[UNIT]
    if unit.present[row] and unit.labels[int(unit.values[row])] != variable.unit:
        accepted = f"{variable.unit or 'nothing'}, as the dictionary has {variable.name}"
        rows.sheet.cell(row, UNIT, unit.labels[int(unit.values[row])][:20], accepted, "other_unit")
    if held.present[row]:
        value = float(held.values[row])
        report(in_range(value, variable), row, VALUE, f"{value:g} for {variable.name}", rows.sheet)
    elif not held.missing[row] and State(int(held.states[row])).name.lower() not in variable.states:
        found = f"{State(int(held.states[row])).name.lower()} for {variable.name}"
        rows.sheet.cell(row, VALUE, found, " or ".join(("a number", *variable.states)), "state_not_allowed")


def said(name: str, rows: Long, rule: MeasureRule, held: Measured) -> Iterator[Finding]:
    """Warnings: who has the modality that stands in, and which rows cannot be placed."""
    sheet, number = rows.sheet.name, int(np.count_nonzero(held.otherwise & held.values.present))
    if number:
        found = f"{number} children have a {rule.otherwise} in place of a {rule.modality}"
        accepted = f"{rule.modality}; both are taken as one measurement of {rule.of}, as the protocol says"
        yield Finding(sheet, None, name, found, accepted, Severity.WARNING, "modality_stands_in")
    needed = (MONTHS, MODALITY, POSITION)
    unplaced = of_variable(rows, rule.of) & ~np.all([rows[each].present for each in needed], axis=0)
    if unplaced.any():
        found = f"{np.count_nonzero(unplaced)} rows without time, modality or position (not used)"
        yield Finding(sheet, None, name, found, "all three in each row", Severity.WARNING, "rows_not_used")
