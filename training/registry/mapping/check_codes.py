"""Codes that a map writes and the dictionary does not have."""

from collections.abc import Mapping

from riskmodel.cases.cells import accepted, reader
from riskmodel.dictionary.model import Kind
from riskmodel.dictionary.names import suggestion
from training.registry.mapping.model import UNANSWERED, Assignments
from training.registry.mapping.report import Report
from training.registry.targets import Target, Targets


def check_codes(codes: Mapping[str, Assignments], known: Targets, report: Report, place: str) -> None:
    """Every `{variable = code}` of a table of codes."""
    for assignments in codes.values():
        for name, code in assignments:
            if name:
                check_code(name, code, known, report, place)


def check_code(name: str, code: str, known: Targets, report: Report, place: str) -> None:
    """One variable and the code that it is given."""
    target = known.get(name)
    if target is None or target.dated:
        report.fault(place, name, suggestion(name, known), "unknown_variable")
    elif code != UNANSWERED and not allows(target, code):
        report.fault(place, f"{name} = {code}", accepted(target.variable), "unknown_code")


def allows(target: Target, code: str) -> bool:
    """Whether a cell of the target's variable may hold this text."""
    variable = target.variable
    if variable.kind is Kind.TEXT:
        return bool(code)
    read = reader(variable)(code)
    return bool(code) and (read.rule is None or read.doubtful)
