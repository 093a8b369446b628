"""What a stored number stands for: codes and labels of a variable's values, in the order in which they are stored."""

from riskmodel.dictionary.model import Kind, Variable

YES_NO_WORDS = ("no", "yes")
# What a cell may hold in place of a value, beside nothing at all.
EMPTY_WORDS = ("not_measurable", "not_applicable", "not_tested")


def codes_of(variable: Variable) -> tuple[str, ...]:
    """Codes of a level, ordinal, flags or yes/no variable in stored order; none of a number."""
    return YES_NO_WORDS if variable.kind is Kind.YES_NO else variable.codes


def labels_of(variable: Variable) -> tuple[str, ...]:
    """Labels of a level, ordinal, flags or yes/no variable in stored order; none of a number."""
    return YES_NO_WORDS if variable.kind is Kind.YES_NO else tuple(level.label for level in variable.levels)
