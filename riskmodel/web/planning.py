"""The planning conference of a case in hand: plans as typed, measured paths, and what follows from them."""

import csv
import io
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from riskmodel.cases.identifiers import in_key
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding, PlanRefused, Severity
from riskmodel.plans import (
    Asking,
    Child,
    Conference,
    Corridor,
    Limits,
    PlansFile,
    Stock,
    Summary,
    child_of,
    corridors_of,
    plans_of,
    summarise,
)
from riskmodel.plans.words import Step
from riskmodel.scoring import Scorer
from riskmodel.tables import Cell
from riskmodel.web.assess import Typed

# What the planning rules know by name; a model of another dictionary is asked without them.
DICTIONARY = "cvj"
NO_PLANS = PlansFile((), {}, ())


@dataclass(frozen=True, slots=True)
class Department:
    """What every conference stands on: the words for anatomy, the limits, and what lies on the shelf."""

    dictionary: Dictionary
    limits: Limits
    stock: Stock


@dataclass(frozen=True, slots=True)
class Planning:
    """Plans of one case.

    `document`: the plans file as typed or opened, empty without plans. `corridors`: measured paths, with what was
    found wrong with them. `unlocked`: confounded fields in which plans may differ; `numbers`: each plan's own number
    was asked for.
    """

    document: Mapping[str, Any] = field(default_factory=dict)
    corridors: tuple[Corridor, ...] = ()
    corridor_findings: tuple[Finding, ...] = ()
    unlocked: frozenset[str] = frozenset()
    numbers: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose conference it is: the key, the typed values, and the plans."""

    case_id: str
    values: Typed
    planning: Planning


def summary_of(department: Department, asked: Asked, scorers: tuple[Scorer, ...], on: date) -> Summary:
    """The whole conference; whatever cannot be read is a finding, and the rest stands."""
    child, doubts = _child(department, asked)
    typed, faults = _typed(asked.planning.document)
    findings = (*doubts, *asked.planning.corridor_findings, *faults)
    held = Conference(child, asked.values, typed, department.limits, department.stock, findings)
    return summarise(held, Asking(on, asked.planning.unlocked, asked.planning.numbers), scorers)


def _child(department: Department, asked: Asked) -> tuple[Child, tuple[Finding, ...]]:
    key = asked.case_id if asked.case_id and not in_key(asked.case_id) else "case"
    return child_of(asked.values, department.dictionary, case_id=key, corridors=asked.planning.corridors)


def _typed(document: Mapping[str, Any]) -> tuple[PlansFile, tuple[Finding, ...]]:
    if not document.get("plan"):
        return _decided(document), ()
    try:
        return plans_of(document), ()
    except PlanRefused as refused:
        return NO_PLANS, refused.findings


def _decided(document: Mapping[str, Any]) -> PlansFile:
    """Lines decided before any plan was typed."""
    lines = document.get("decided", {})
    return PlansFile((), {step: str(lines[step.value]) for step in Step if lines.get(step.value)}, ())


def opened(content: bytes) -> dict[str, Any]:
    """A plans file as a document, looked at once.

    Raises
    ------
    PlanRefused
        When it is no TOML of this format, or holds no plan that can be read.
    """
    try:
        document = tomllib.loads(content.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        where = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "not a UTF-8 text"
        raise PlanRefused([_fault("the plans file", f"no TOML: {where}", "a plans file (TOML)")]) from None
    plans_of(document, "the plans file")
    return document


def measured(content: bytes, dictionary: Dictionary, case_id: str) -> tuple[tuple[Corridor, ...], tuple[Finding, ...]]:
    """Measured paths from a CSV file; rows that name another child are passed over."""
    sheet = "the paths"
    try:
        reader = csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), restkey="", strict=True)
        rows: list[tuple[int, dict[str, Cell]]] = []
        for number, row in enumerate(reader, start=2):
            if row.get("case_id", case_id) in ("", case_id):
                rows.append((number, {name: cell for name, cell in row.items() if isinstance(cell, str)}))
    except (csv.Error, UnicodeDecodeError):
        return (), (_fault(sheet, "text that is no CSV", "a CSV file of the table corridors"),)
    return corridors_of(rows, dictionary, sheet=sheet, passed_over=("case_id",))


def _fault(sheet: str, found: str, accepted: str) -> Finding:
    return Finding(sheet, None, None, found, accepted, Severity.ERROR, "not_readable")
