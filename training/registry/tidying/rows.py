"""Rows of a sheet, cell by cell."""

from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.cases.cells import NO_FLAG
from riskmodel.dictionary.model import Role
from training.registry.cells import RegistryCell, plain, text_of
from training.registry.mapping.fit import data_rows
from training.registry.mapping.model import ColumnRule, Combine, Keys, NotCarried, Reads, SheetRule
from training.registry.reading.cell import PART_OF_A_DATE, read_cell
from training.registry.reading.doubt import Doubt
from training.registry.reading.held import Held, Setting
from training.registry.sheets import Sheet, headers, spread
from training.registry.tidying.keys import read_key
from training.registry.tidying.notes import Notes, Place
from training.registry.words import names_person


@dataclass(frozen=True, slots=True)
class Entry:
    """A value and the cell that it came from.

    `combine` says which of several for one variable holds. `final`: the day of a status after which nobody is seen.
    `shared`: the cell gave more than this value.
    """

    held: Held
    place: Place
    combine: Combine | None = None
    final: bool = False
    shared: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the registry: its key as written, and everything that its cells gave."""

    place: Place
    key: str
    entries: tuple[Entry, ...]
    kind: str = ""

    def first(self, target: str) -> Entry | None:
        """The row's value for a variable."""
        return next((entry for entry in self.entries if entry.held.target == target and not entry.held.born), None)


def read_rows(sheet: Sheet, rule: SheetRule, setting: Setting, notes: Notes) -> tuple[Row, ...]:
    """Every row that is not empty or left out, with what could be read; the rest is written down."""
    reader = _Reader(sheet, rule, setting, notes)
    return tuple(row for number in data_rows(sheet, rule) if (row := reader.row(number)) is not None)


class _Reader:
    """One sheet being read."""

    def __init__(self, sheet: Sheet, rule: SheetRule, setting: Setting, notes: Notes) -> None:
        self.sheet, self.rule, self.setting, self.notes = sheet, rule, setting, notes
        places = {name: place for place, name in enumerate(headers(sheet, rule.header_rows), start=1)}
        self.columns = [(places[column.header], column) for column in rule.columns if column.header in places]
        self.kind_place = places.get(rule.later.column or "") if rule.later else None
        self.skip = {plain(word) for word in rule.skip_words}

    def row(self, number: int) -> Row | None:
        """The row, or None when it is empty or the map leaves it out."""
        first = next((text for cell in self.sheet.rows[number - 1] if (text := text_of(cell))), None)
        if first is None:
            return None
        place = Place(self.sheet.name, number)
        if plain(first) in self.skip:
            self.notes.change(Place(self.sheet.name, number, None, first), "", "row left out")
            return None
        entries = [entry for place_, rule in self.columns for entry in self._entries(number, place_, rule)]
        key = next((entry for entry in entries if _is_key(entry.held.target, self.setting)), None)
        if key is None and not self._key_written(number) and any(entry.held.value for entry in entries):
            accepted = "a key; for totals and notes, skip_words or last_row in the map; for merged keys, fill_merged"
            self.notes.fault(place, "a row without a key", accepted, "no_key")
        if key is None:
            return None
        rest = tuple(entry for entry in entries if entry is not key)
        return Row(
            place, str(key.held.value), _with_flags(rest, self.rule, self.setting, self.notes), self._kind(number)
        )

    def _key_written(self, number: int) -> bool:
        """Whether the row has a key that could not be read: it is written down already."""
        keys = [(place, rule) for place, rule in self.columns if rule.to and _is_key(rule.to[0], self.setting)]
        return any(text_of(self._cell(number, place, rule)) for place, rule in keys)

    def _kind(self, number: int) -> str:
        return "" if self.kind_place is None else text_of(self.sheet.cell(number, self.kind_place))

    def _entries(self, number: int, column: int, rule: ColumnRule) -> Iterator[Entry]:
        if rule.not_carried is not None:
            return
        cell = self._cell(number, column, rule)
        place = Place(
            self.sheet.name, number, rule.header, None if _secret(rule, self.rule, self.setting) else text_of(cell)
        )
        try:
            read = (
                read_key(cell, rule, self.rule)
                if _is_key(rule.to[0], self.setting)
                else read_cell(cell, rule, self.setting)
            )
        except Doubt as doubt:
            self.notes.doubt(place, doubt)
            return
        read = (*read, *_implied(read, rule))
        final = any(held.value in rule.status.final for held in read)
        for held in read:
            of_status = held.target == rule.status.as_of_to
            combine = Combine.LATEST if of_status else rule.combine
            yield Entry(held, place, combine, final and of_status, len(read) > 1)

    def _cell(self, number: int, column: int, rule: ColumnRule) -> RegistryCell:
        filled = rule.header in self.rule.fill_merged
        return spread(self.sheet, number, column) if filled else self.sheet.cell(number, column)


def _implied(read: tuple[Held, ...], rule: ColumnRule) -> tuple[Held, ...]:
    """What it means that the cell holds something, or nothing; a word for why there is no value is neither."""
    filled = any(held.value or held.rule == PART_OF_A_DATE for held in read)
    if filled:
        return tuple(Held(name, code, "filled") for name, code in rule.when_filled)
    return () if read else tuple(Held(name, code, "empty") for name, code in rule.when_empty)


def _is_key(target: str, setting: Setting) -> bool:
    return setting.targets[target].variable.role is Role.KEY


def _secret(rule: ColumnRule, sheet: SheetRule, setting: Setting) -> bool:
    """Whether a column's cells may not even be shown: dates of birth, keys that are replaced, identifiers."""
    new_key = sheet.keys is Keys.NEW and _is_key(rule.to[0], setting)
    identifier = rule.not_carried is NotCarried.IDENTIFIER
    return new_key or identifier or rule.reads is Reads.BIRTH_DATE or names_person(rule.header)


def _with_flags(entries: tuple[Entry, ...], rule: SheetRule, setting: Setting, notes: Notes) -> tuple[Entry, ...]:
    """The entries, those of one column per flag joined to one value."""
    columns = [column for column in rule.columns if column.reads is Reads.FLAG]
    out = [entry for entry in entries if not any(entry.place.column == column.header for column in columns)]
    for name in dict.fromkeys(column.to[0] for column in columns):
        own = [column for column in columns if column.to[0] == name]
        said = {entry.place.column: entry for entry in entries if entry.held.target == name and entry not in out}
        if not said:
            continue
        first = next(iter(said.values()))
        silent = [column.header for column in own if column.header not in said and column.blank != "no"]
        if silent:
            found = f"nothing, beside other columns for {name} that are filled"
            notes.fault(Place(first.place.sheet, first.place.row, silent[0]), found, _BLANK_FLAG, "blank_flag")
        yes = {entry.held.value for entry in said.values()} - {NO_FLAG, ""}
        text = "+".join(code for code in setting.targets[name].variable.codes if code in yes) or NO_FLAG
        out.append(Entry(Held(name, text, "one column per flag"), first.place))
    return tuple(out)


_BLANK_FLAG = 'yes or no in the words of the map, or blank = "no" in the map'
