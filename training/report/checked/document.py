"""The report as JSON values: the same facts, the same small counts hidden."""

from typing import Any

from riskmodel.documents.cautions import cautions
from training.report.checked.courses import Courses
from training.report.checked.hidden import LEAST, one
from training.report.checked.missing import MissingMap
from training.report.checked.summary import Checked, Looked
from training.report.checked.todo import Item

FORMAT = 1


def document(held: Checked) -> dict[str, Any]:
    """The whole report."""
    protocol = held.protocol
    return {
        "format": FORMAT,
        "file": held.file,
        "protocol": protocol.name,
        "demonstration": protocol.demonstration,
        "cautions": list(cautions(demonstration=protocol.demonstration)),
        "errors": held.errors,
        "findings": [
            {"to_do": group.todo.value, "count": group.count, "items": [_item(item) for item in group.items]}
            for group in held.groups
        ],
        "missing": None if held.missing is None else _missing(held.missing),
        "cohort": None if held.looked is None else _looked(held.looked),
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        "sheet": item.sheet,
        "column": item.column,
        "severity": item.severity.value,
        "rule": item.rule,
        "count": item.count,
        "rows": list(item.rows),
        "found": item.found,
        "accepted": item.accepted,
    }


def _missing(held: MissingMap) -> dict[str, Any]:
    gaps = [{"variable": gap.name, "shares": [share.words for share in gap.shares]} for gap in held.gaps]
    return {"parts": list(held.parts), "gaps": gaps, "complete": list(held.complete)}


def _looked(held: Looked) -> dict[str, Any]:
    small = any(count < LEAST for _, count in held.flow)
    return {
        "flow": [{"left_out": reason, "children": one(count)} for reason, count in held.flow],
        "before": None if small else held.outcome.children + sum(count for _, count in held.flow),
        "children": held.outcome.children,
        "whole": _courses(held.whole),
        "centres": None if held.centres is None else _courses(held.centres),
        "eras": None if held.eras is None else _courses(held.eras),
        "follow_up_months": held.outcome.follow_up_months,
        "followed": [{"months": each.months, "share": each.share} for each in held.followed],
    }


def _courses(held: Courses) -> list[dict[str, Any]]:
    return [
        {"name": name, "children": children, **dict(zip(held.head, cells, strict=True)), "median_follow_up": median}
        for name, children, cells, median in held.rows
    ]
