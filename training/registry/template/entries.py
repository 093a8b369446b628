"""What a cell of the template takes: drop-downs, ranges, dates."""

from dataclasses import dataclass

from openpyxl.worksheet.datavalidation import DataValidation

from riskmodel.cases.cells import accepted
from riskmodel.dictionary.model import Kind, Role
from training.registry.targets import Target

FIRST_ROW, LAST_ROW = 2, 2001
_LONGEST_TEXT = 255  # a spreadsheet shows no more
_DATES = "DATE(1950,1,1)", "DATE(2100,12,31)"


@dataclass(frozen=True, slots=True)
class Place:
    """A column of a sheet by its letter."""

    letter: str

    @property
    def first(self) -> str:
        """The first cell to fill."""
        return f"{self.letter}{FIRST_ROW}"

    @property
    def cells(self) -> str:
        """All cells to fill."""
        return f"{self.first}:{self.letter}{LAST_ROW}"


def takes(target: Target) -> str:
    """What a cell may hold, in words."""
    return "a date as YYYY-MM-DD" if target.dated else accepted(target.variable)


def listed_words(target: Target) -> tuple[str, ...]:
    """The words of a drop-down; none where a cell holds amounts, dates, texts, or several words at once."""
    kind = target.variable.kind
    if target.dated or kind in (Kind.FLAGS, Kind.TEXT, Kind.DATE) or (kind.numeric and not target.variable.levels):
        return ()
    return target.words


def validation(target: Target, place: Place, words_at: str | None, *, once: bool) -> DataValidation | None:
    """The rule for a column; None where any text may stand.

    Parameters
    ----------
    place : the column
    words_at : the range that holds the words of its drop-down
    once : whether a key may stand in one row only
    """
    rule = _rule(target, place, words_at, once=once)
    if rule is None:
        return None
    told = takes(target)
    rule.allow_blank = True
    rule.showErrorMessage = rule.showInputMessage = True
    rule.errorTitle, rule.error = "Not taken", told[:_LONGEST_TEXT]
    rule.promptTitle, rule.prompt = target.name[:32], told[:_LONGEST_TEXT]
    rule.add(place.cells)
    return rule


def _rule(target: Target, place: Place, words_at: str | None, *, once: bool) -> DataValidation | None:
    variable = target.variable
    if words_at is not None:
        return DataValidation(type="list", formula1=words_at)
    if target.dated:
        return DataValidation(type="date", operator="between", formula1=_DATES[0], formula2=_DATES[1])
    if variable.kind.numeric:
        return DataValidation(type="custom", formula1=_number(target, place.first))
    if variable.role is Role.KEY and once:
        return DataValidation(type="custom", formula1=f"COUNTIF(${place.letter}:${place.letter},{place.first})=1")
    return None


def _number(target: Target, cell: str) -> str:
    """A formula that holds for a number in the range (a whole one where it counts), or one of the allowed states."""
    variable = target.variable
    parts = [f"ISNUMBER({cell})"]
    if variable.hard is not None:
        parts += [f"{cell}>={variable.hard[0]:g}", f"{cell}<={variable.hard[1]:g}"]
    if variable.kind in (Kind.INTEGER, Kind.ORDINAL):
        parts.append(f"INT({cell})={cell}")
    number = f"AND({','.join(parts)})"
    states = [f'{cell}="{state}"' for state in variable.states]
    return f"OR({','.join([number, *states])})"
