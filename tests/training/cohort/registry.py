"""A small registry's dictionary, and its tables from a few words each."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from riskmodel import dictionary
from riskmodel.cases import CaseTable, check
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding
from riskmodel.tables import RawTable

REGISTRY = """
format = 1
name = "small"
version = "1"
[variable.last_scan_months]
label = "Last scan"
kind = "number"
moment = "follow_up"
unit = "months"
hard = [0, 300]
role = "seen_until"
finds = ["scan", "clinic"]
[variable.other_end]
label = "Other end"
kind = "level"
moment = "follow_up"
role = "event"
[[variable.other_end.levels]]
code = "none"
label = "None"
[[variable.other_end.levels]]
code = "death"
label = "Death"
[[variable.other_end.levels]]
code = "left_area"
label = "Left the area"
[variable.other_end_months]
label = "Time of the other end"
kind = "number"
moment = "follow_up"
unit = "months"
hard = [0, 300]
role = "event"
[event.breakage]
label = "Broken"
[event.pull_out]
label = "Pulled out"
[event.death]
label = "Death"
[event.removal]
label = "Removed as planned"
[outcome.failure]
label = "Failure"
first_of = ["breakage", "pull_out"]
competes = ["death"]
seen_until = "last_scan"
found_by = "scan"
"""


def small(folder: Path) -> Dictionary:
    """A dictionary of one outcome, made of two events, with an end that competes."""
    path = folder / "small.toml"
    path.write_text(REGISTRY, encoding="utf-8")
    return dictionary.read(path)


def table(columns: Mapping[str, Sequence[str]]) -> RawTable:
    """A sheet from its columns; the first child stands in row 2."""
    rows = tuple(zip(*columns.values(), strict=True))
    return RawTable("children", tuple(columns), rows, 1, tuple(range(2, len(rows) + 2)))


def checked(words: Dictionary, columns: Mapping[str, Sequence[str]]) -> tuple[CaseTable, tuple[Finding, ...]]:
    """The sheet as cases, and what was found."""
    return check(table(columns), words)
