"""Numbers that may be in another unit than the rest of their column: 0.35 among 3.5, 4.1, 2.8 may be centimetres."""

from collections.abc import Sequence
from dataclasses import replace
from statistics import median

from riskmodel.dictionary.model import Dictionary, Variable
from training.registry.reading.units import known
from training.registry.tidying.notes import Notes
from training.registry.tidying.tables import Record

_LENGTHS = ("mm", "cm")
_PART_OF_MEDIAN = 0.2
_ROUNDING = 1e-6


def warn_magnitudes(records: Sequence[Record], dictionary: Dictionary, notes: Notes) -> None:
    """Warn of lengths that are far below the others and written finer than such a length is measured."""
    for name in dict.fromkeys(name for record in records for name in record.values):
        variable = dictionary.variables[name]
        if known(variable.unit) in _LENGTHS:
            _column(variable, records, notes)


def _column(variable: Variable, records: Sequence[Record], notes: Notes) -> None:
    held = [(record, value) for record in records if (value := _number(record, variable)) is not None]
    middle = median(value for _, value in held) if held else 0.0
    for record, value in held:
        if 0 < value < _PART_OF_MEDIAN * middle and _finer(value, variable.resolution):
            place = replace(record.place, column=record.columns.get(variable.name))
            found = f"{value:g} {variable.unit}, far below the others and finer than {variable.resolution:g}"
            accepted = "confirm; for small numbers in another unit, small_below and small_unit in the map"
            notes.warn(place, found, accepted, "other_unit")


def _number(record: Record, variable: Variable) -> float | None:
    text = record.values.get(variable.name, "")
    return None if not text or text in variable.states else float(text)


def _finer(value: float, resolution: float) -> bool:
    steps = value / resolution
    return abs(steps - round(steps)) > _ROUNDING
