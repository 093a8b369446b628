"""The sheet that says how to fill the others."""

from collections.abc import Iterator

from riskmodel.dictionary.model import Kind, Level, Variable
from training.registry.targets import Target
from training.registry.template.columns import Plan
from training.registry.template.entries import takes

GUIDE_HEAD = ("sheet", "column", "what it is", "what a cell takes", "usual range", "words and what they mean", "how")

RULES = (
    "One row per child and index operation. Leave blank what is not known: a blank is never a no.",
    "No names, no dates of birth, no hospital numbers, no free text. The key is a code that only the department can "
    "trace back.",
    "Sides are the child's own right and left.",
    "What was not imaged or not tested is not normal: say so in its own word where a column has one.",
    "Dates are turned into months from the operation when the file is read; of the operation only the year is kept.",
    "Research software. It does not choose an operation and does not replace the judgement of the treating team, local "
    "protocols or licensed practice.",
)


def guide_rows(plans: tuple[Plan, ...]) -> Iterator[tuple[str, ...]]:
    """One row per column of every sheet."""
    for plan in plans:
        for target in plan.columns:
            variable = target.variable
            usual = _usual(variable) if not target.dated else ""
            how = variable.how or (f"as for {variable.name}" if target.name != variable.name else "")
            yield plan.name, target.name, _label(target), takes(target), usual, _words(target), how


_LISTED = 12


def _label(target: Target) -> str:
    """The label; for a date in place of months, of what it is the date."""
    label = target.variable.label.removesuffix(": time from the operation")
    return f"Date: {label}" if target.dated and target.name != target.variable.name else label


def _usual(variable: Variable) -> str:
    if variable.soft is None:
        return ""
    return f"{variable.soft[0]:g} to {variable.soft[1]:g}" + (f" {variable.unit}" if variable.unit else "")


def _words(target: Target) -> str:
    if target.dated:
        return ""
    variable = target.variable
    joined = ["several joined by +"] if variable.kind is Kind.FLAGS else []
    levels = [_level(level) for level in variable.levels if level.label != level.code]
    states = [f"{state} = {_STATES.get(state, state)}" for state in variable.states]
    return ("\n" if len(levels) <= _LISTED else "; ").join([*levels, *states, *joined])


def _level(level: Level) -> str:
    """Code and meaning; a label that begins with the code says both."""
    return level.label if level.label.startswith(f"{level.code}:") else f"{level.code} = {level.label}"


_STATES = {
    "not_measurable": "a landmark is missing",
    "not_applicable": "it does not apply to this child",
    "not_tested": "nobody tested it",
}
