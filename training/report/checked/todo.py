"""Findings grouped by what to do about them."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from itertools import groupby

from riskmodel.errors import Finding, Severity

SHOWN_ROWS = 8


class Todo(Enum):
    """What somebody has to do, in the order of urgency; the value says it."""

    TAKE_OUT = "Take out of the file: it points at a person"
    FILE = "Mend the file: it cannot be read as it is"
    MEND_CELLS = "Look up in the notes and mend in the table"
    MEND_COURSE = "Look up what happened when: two statements about a child do not fit together"
    COLUMNS = "Add, rename or remove a column"
    PROTOCOL = "Decide, and change the protocol"
    GATHER = "Gather more: the cohort cannot tell what the protocol asks"
    CONFIRM = "Confirm that it is so: unusual, and accepted"
    OTHER = "Look at"


_RULES: dict[Todo, str] = {
    Todo.TAKE_OUT: "identifier_column identifier_content",
    Todo.FILE: (
        "no_file io empty_file empty_folder unknown_suffix too_large too_many_rows too_many_columns unpacks_too_large "
        "locked_or_old not_xlsx not_csv not_utf8 not_parquet no_parquet ragged_row no_children_table no_rows"
    ),
    Todo.MEND_CELLS: (
        "not_a_number not_whole not_yes_no unknown_level flag_twice not_a_date outside_hard state_not_allowed "
        "duplicate_key missing_key group_disagrees two_years derived_disagrees not_a_cell tables_disagree "
        "unknown_child unknown_variable other_unit readers double_row"
    ),
    Todo.MEND_COURSE: (
        "event_after_end after_last_seen time_missing time_without_event not_after_operation ends_disagree "
        "months_and_date no_origin planned_event"
    ),
    Todo.COLUMNS: "needed_column unknown_column other_table duplicate_column nameless_column untold_end from_rows",
    Todo.PROTOCOL: "known_too_late constant_column no_value nobody_eligible events_absent",
    Todo.GATHER: "few_events no_follow_up censored_before_horizon censoring_pooled rows_lacking rows_not_used",
    Todo.CONFIRM: "outside_soft modality_stands_in",
}
_BY_RULE = {rule: todo for todo, rules in _RULES.items() for rule in rules.split()}


@dataclass(frozen=True, slots=True)
class Item:
    """Findings about one column and one rule: how many, the first rows, and the first in full."""

    sheet: str
    column: str | None
    severity: Severity
    rule: str
    count: int
    rows: tuple[int, ...]
    found: str
    accepted: str


@dataclass(frozen=True, slots=True)
class Group:
    """Everything that asks for the same thing."""

    todo: Todo
    items: tuple[Item, ...]

    @property
    def errors(self) -> int:
        """How many findings refuse the cohort."""
        return sum(item.count for item in self.items if item.severity is Severity.ERROR)

    @property
    def count(self) -> int:
        """How many findings there are."""
        return sum(item.count for item in self.items)


def todo_of(finding: Finding) -> Todo:
    """What a finding asks for."""
    known = _BY_RULE.get(finding.rule)
    if known is not None:
        return known
    return Todo.OTHER if finding.severity is Severity.ERROR else Todo.CONFIRM


def groups(findings: Iterable[Finding]) -> tuple[Group, ...]:
    """The findings by what they ask for, then by sheet, column and rule."""
    held = sorted(findings, key=_place)
    return tuple(
        Group(todo, items) for todo in Todo if (items := tuple(_items(each for each in held if todo_of(each) is todo)))
    )


def _items(findings: Iterable[Finding]) -> Iterable[Item]:
    for _, alike in groupby(findings, key=_kind):
        held = list(alike)
        first = held[0]
        rows = tuple(sorted({each.row for each in held if each.row is not None}))
        yield Item(
            sheet=first.sheet,
            column=first.column,
            severity=first.severity,
            rule=first.rule,
            count=len(held),
            rows=rows[:SHOWN_ROWS],
            found=first.found,
            accepted=first.accepted,
        )


def _kind(finding: Finding) -> tuple[str, str, str, str]:
    return finding.severity.value, finding.sheet, finding.column or "", finding.rule


def _place(finding: Finding) -> tuple[str, str, str, str, int]:
    return *_kind(finding), finding.row or 0
