"""A map as frozen values: how each sheet and column of a registry becomes a column of the dictionary."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType

UNANSWERED = "?"

Assignments = tuple[tuple[str, str], ...]
"""(variable, code) each; the variable is "" where the column's own is meant."""

NO_CODES: Mapping[str, Assignments] = MappingProxyType({})
NO_WORDS: Mapping[str, str] = MappingProxyType({})


class Reads(Enum):
    """How the cells of a column are written."""

    VALUE = "value"
    AGE = "age"
    BIRTH_DATE = "birth_date"
    SPAN = "span"
    SIDES = "sides"
    FLAG = "flag"


class NotCarried(Enum):
    """Why a column stays in the hospital."""

    IDENTIFIER = "identifier"
    FREE_TEXT = "free_text"
    NOT_NEEDED = "not_needed"


class Order(Enum):
    """Which of two numbers in a date comes first."""

    DAY_FIRST = "day_first"
    MONTH_FIRST = "month_first"


class Partial(Enum):
    """What becomes of a date of which only month or year is known."""

    MIDDLE = "middle"
    MISSING = "missing"


class Vague(Enum):
    """What becomes of a number written as a bound or as an estimate: `<2`, `~3`."""

    VALUE = "value"
    MISSING = "missing"


class Between(Enum):
    """What becomes of a number written as a range: `3-4`."""

    MIDDLE = "middle"
    LOW = "low"
    HIGH = "high"
    MISSING = "missing"


class Decimal(Enum):
    """Which sign stands before the decimals."""

    POINT = "point"
    COMMA = "comma"
    EITHER = "either"


class DateCells(Enum):
    """Whether date cells are right, or were typed day first into a program that read month first (or the reverse)."""

    AS_THEY_ARE = "as_they_are"
    SWAPPED = "swapped"


class Rows(Enum):
    """What a row of a sheet of children stands for."""

    CHILDREN = "children"
    OPERATIONS = "operations"
    FURTHER_COLUMNS = "further_columns"


class Keys(Enum):
    """Whether the keys of the registry may leave it, or new ones are given in the order of the rows."""

    AS_WRITTEN = "as_written"
    NEW = "new"


class Combine(Enum):
    """Which of several values for one variable holds."""

    LATEST = "latest"
    EARLIEST = "earliest"


class Unmarked(Enum):
    """What a cell that names no side speaks of."""

    BOTH = "both"
    RIGHT_LEFT = "right_left"
    LEFT_RIGHT = "left_right"


@dataclass(frozen=True, slots=True)
class NumberRule:
    """How numbers are written. `small_below`, `small_unit`: numbers under that bound are in another unit."""

    unit: str | None = None
    decimal: Decimal = Decimal.POINT
    below: Vague | None = None
    above: Vague | None = None
    about: Vague | None = None
    between: Between | None = None
    small_below: float | None = None
    small_unit: str | None = None


@dataclass(frozen=True, slots=True)
class DateRule:
    """How dates are written. `years_from`: a year of two digits lies in the hundred years from here.

    `serials`: the base of days written as bare numbers, 1900 or 1904.
    """

    order: Order | None = None
    years_from: int | None = None
    month_only: Partial | None = None
    year_only: Partial | None = None
    serials: int | None = None
    cells: DateCells | None = None


@dataclass(frozen=True, slots=True)
class SideRule:
    """How two sides share a cell.

    `named`, `not_named`: codes of a side that the cell names without a value, and of the other one.
    """

    both: tuple[str, ...] = ()
    unmarked: Unmarked | None = None
    named: str | None = None
    not_named: str | None = None


@dataclass(frozen=True, slots=True)
class StatusRule:
    """When a status was true. `as_of` is a date, or "in_cell"; it is written to `as_of_to` if later than others.

    `final`: codes after which the child cannot have been seen again.
    """

    as_of: str | None = None
    as_of_to: str | None = None
    final: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ColumnRule:
    """One column of a sheet. `to` is empty when it is not carried, and `("?",)` while nobody has answered.

    `codes`: words as they stand in the cells, made plain, and what each means. `empty`: words that say why there is no
    value. `flag`: the code that a yes adds to a flags variable, `blank` what an empty cell then means. `bare`: letter
    before levels written as bare numbers. `turned_dates`: the order in which a text such as 3-4 was typed before the
    spreadsheet made a date of it. `question_mark`: what a question mark beside the value sets. `when_filled`,
    `when_empty`: what it means that there is something in the cell, or nothing.
    """

    header: str
    to: tuple[str, ...] = ()
    reads: Reads = Reads.VALUE
    not_carried: NotCarried | None = None
    codes: Mapping[str, Assignments] = field(default_factory=lambda: NO_CODES)
    empty: Mapping[str, str] = field(default_factory=lambda: NO_WORDS)
    number: NumberRule = field(default_factory=NumberRule)
    date: DateRule = field(default_factory=DateRule)
    sides: SideRule = field(default_factory=SideRule)
    status: StatusRule = field(default_factory=StatusRule)
    flag: str | None = None
    blank: str | None = None
    separators: tuple[str, ...] = ()
    bare: str | None = None
    turned_dates: Order | None = None
    question_mark: tuple[str, str] | None = None
    combine: Combine | None = None
    when_filled: Assignments = ()
    when_empty: Assignments = ()


@dataclass(frozen=True, slots=True)
class LaterOperations:
    """What the further rows of a child mean.

    Each word of `column` stands for an event, `{variable = code}`, `earlier` (done before the index, counted in
    `earlier_in`) or `nothing`; without a column, every row stands for `every`.

    `without`: what a child without such a row has for the events of `codes` and `every`: no or unknown.
    """

    column: str | None = None
    codes: Mapping[str, Assignments] = field(default_factory=lambda: NO_CODES)
    every: str | None = None
    without: str | None = None
    earlier_in: str | None = None


@dataclass(frozen=True, slots=True)
class SheetRule:
    """One sheet. `becomes` is a table of the dictionary, None when the sheet is left out."""

    name: str
    becomes: str | None = None
    header_rows: tuple[int, ...] = (1,)
    last_row: int | None = None
    skip_words: tuple[str, ...] = ()
    fill_merged: tuple[str, ...] = ()
    rows: Rows = Rows.CHILDREN
    keys: Keys = Keys.AS_WRITTEN
    key_digits: int | None = None
    always: Mapping[str, str] = field(default_factory=lambda: NO_WORDS)
    empty: Mapping[str, str] = field(default_factory=lambda: NO_WORDS)
    columns: tuple[ColumnRule, ...] = ()
    later: LaterOperations | None = None


@dataclass(frozen=True, slots=True)
class RegistryMap:
    """A whole map."""

    name: str
    dictionary: str
    sheets: tuple[SheetRule, ...]
