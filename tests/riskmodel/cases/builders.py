"""Small tables of children, checked against a small dictionary that knows nothing of the junction."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from riskmodel import cases, dictionary
from riskmodel.cases.table import CaseTable
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding
from riskmodel.tables import Cell, RawTable

SMALL = """
format = 1
name = "small"
version = "1"
[variable.key]
label = "Key"
kind = "text"
moment = "clinic"
role = "key"
[variable.unit]
label = "Unit"
kind = "text"
moment = "clinic"
role = "centre"
[variable.operation_date]
label = "Day"
kind = "date"
moment = "theatre"
role = "date"
[variable.operation_year]
label = "Year"
kind = "integer"
moment = "plan"
hard = [1950, 2100]
[variable.length_mm]
label = "Length"
kind = "number"
unit = "mm"
moment = "imaging"
hard = [-3, 30]
soft = [0, 15]
states = ["not_measurable"]
[variable.count]
label = "Count"
kind = "integer"
moment = "clinic"
hard = [0, 9]
[variable.grade]
label = "Grade"
kind = "ordinal"
moment = "clinic"
states = ["not_tested"]
levels = [{ code = "low", label = "Low" }, { code = "mid", label = "Mid" }, { code = "high", label = "High" }]
[variable.step]
label = "Step"
kind = "ordinal"
moment = "clinic"
hard = [1, 5]
[variable.smokes]
label = "Smokes"
kind = "yes_no"
moment = "clinic"
[variable.sites]
label = "Sites"
kind = "flags"
moment = "plan"
levels = [{ code = "a", label = "A" }, { code = "b", label = "B" }, { code = "c", label = "C" }]
[variable.fruit]
label = "Fruit"
kind = "level"
moment = "clinic"
grouped_by = "family"
levels = [
    { code = "apple", label = "Apple", group = "rose" },
    { code = "pear", label = "Pear", group = "rose" },
    { code = "lemon", label = "Lemon", group = "rue" },
]
[variable.family]
label = "Family"
kind = "level"
moment = "clinic"
levels = [{ code = "rue", label = "Rue" }, { code = "rose", label = "Rose" }]
[variable.blood_ml]
label = "Blood loss"
kind = "number"
unit = "ml"
moment = "theatre"
[variable.screw_mm]
label = "Screw"
kind = "number"
unit = "mm"
moment = "plan"
table = "screws"
[variable.last_scan_months]
label = "Scan"
kind = "number"
unit = "months"
moment = "follow_up"
hard = [0, 400]
soft = [0, 300]
role = "seen_until"
finds = ["scan"]
[variable.last_contact_months]
label = "Contact"
kind = "number"
unit = "months"
moment = "follow_up"
hard = [0, 400]
role = "seen_until"
finds = ["theatre"]
[variable.other_end]
label = "Other end"
kind = "level"
moment = "follow_up"
role = "event"
levels = [{ code = "none", label = "None" }, { code = "death", label = "Death" }, { code = "moved", label = "Moved" }]
[variable.other_end_months]
label = "Other end, months"
kind = "number"
unit = "months"
moment = "follow_up"
hard = [0, 400]
role = "event"
[event.broken]
label = "Broken"
[event.loose]
label = "Loose"
[event.death]
label = "Death"
[outcome.failure]
label = "Failure"
first_of = ["broken", "loose"]
competes = ["death"]
seen_until = "last_scan"
found_by = "scan"
"""


def small(folder: Path) -> Dictionary:
    """The small dictionary, read from a file in `folder`."""
    path = folder / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return dictionary.read(path)


def raw(columns: Mapping[str, Sequence[Cell]]) -> RawTable:
    """A table whose first row of children is row 2."""
    rows = tuple(zip(*columns.values(), strict=True))
    return RawTable("children", tuple(columns), rows, 1, tuple(range(2, len(rows) + 2)))


def checked(
    held: Dictionary, columns: Mapping[str, Sequence[Cell]], **options: object
) -> tuple[CaseTable, tuple[Finding, ...]]:
    """The columns as checked cases, with the findings."""
    return cases.check(raw(columns), held, **options)  # type: ignore[arg-type]


def told(findings: Sequence[Finding]) -> list[tuple[str, int | None, str]]:
    """Rule, row and column of each finding."""
    return [(finding.rule, finding.row, finding.column or "") for finding in findings]
