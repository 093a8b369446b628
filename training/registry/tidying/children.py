"""Rows that speak of the same child, brought together."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from riskmodel.dictionary.model import Role
from riskmodel.dictionary.roles import holder
from training.registry.mapping.model import Combine
from training.registry.reading.dates import Day, Known
from training.registry.tidying.keys import bare
from training.registry.tidying.notes import Notes, Place
from training.registry.tidying.rows import Entry, Row
from training.registry.tidying.work import Work


@dataclass
class Child:
    """One child: where it stands in the registry, and its value for each variable.

    `born`: the date of birth, with the variable whose age is made of it.
    """

    key: str
    place: Place
    values: dict[str, Entry] = field(default_factory=dict)
    born: Entry | None = None

    def day(self, target: str) -> date | None:
        """The child's date for a variable."""
        entry = self.values.get(target)
        return entry.held.value.when if entry and isinstance(entry.held.value, Day) else None


Children = dict[str, Child]


def gather_children(rows: Iterable[Row], children: Children, work: Work) -> None:
    """Add the child of each row."""
    for row in rows:
        if row.key in children:
            _double(row, children[row.key], work)
        else:
            children[row.key] = child_of(row, work.notes)


def gather_columns(rows: Iterable[Row], children: Children, notes: Notes) -> None:
    """Add the further columns that each row has for a child."""
    for row in rows:
        child = known_child(row, children, notes)
        if child is not None:
            take(child, row.entries, notes)


def refuse_alike(children: Children, notes: Notes) -> None:
    """Keys that differ by case, blanks, signs or zeros only are taken for slips: a child would be split in two."""
    first: dict[str, Child] = {}
    for child in children.values():
        other = first.setdefault(bare(child.key), child)
        if other is not child:
            where = f"row {other.place.row} of {other.place.sheet}"
            found = f"a key that differs from that of {where} by case, blanks, signs or zeros only"
            notes.fault(child.place, found, "one spelling for one child, two keys for two", "alike_keys")


def known_child(row: Row, children: Children, notes: Notes) -> Child | None:
    """The child that a row of another sheet speaks of."""
    if row.key not in children:
        accepted = "a key of the sheets with the children"
        notes.fault(row.place, "a key that no child has", accepted, "unknown_key")
    return children.get(row.key)


def child_of(row: Row, notes: Notes) -> Child:
    """The child that a row begins."""
    child = Child(row.key, row.place)
    take(child, row.entries, notes)
    return child


def take(child: Child, entries: Iterable[Entry], notes: Notes) -> None:
    """Add values to a child; two that differ are a finding, unless the map says which holds."""
    for entry in entries:
        if entry.held.born:
            child.born = child.born or entry
            continue
        held = child.values.get(entry.held.target)
        if held is None or held.held.value == "":
            child.values[entry.held.target] = entry
        elif entry.held.value not in ("", held.held.value):
            child.values[entry.held.target] = _one_of(held, entry, notes)


def _one_of(first: Entry, second: Entry, notes: Notes) -> Entry:
    rule = second.combine or first.combine
    one, other = first.held.value, second.held.value
    if rule is None or not (isinstance(one, Day) and isinstance(other, Day)):
        where = f"row {first.place.row} of {first.place.sheet}, column {first.place.column}"
        found = f"{shown(second)} for {second.held.target}, but {shown(first)} in {where}"
        notes.fault(second.place, found, "the same value, or one of the two", "two_values")
        return first
    later = second if _order(other) > _order(one) else first
    earlier = first if later is second else second
    if earlier.final and later.held.value != earlier.held.value:
        found = f"an end in {shown(earlier)[:4]}, but seen on {shown(later)}"
        notes.fault(earlier.place, found, "no later contact, or an end on another day", "seen_after_end")
    return later if rule is Combine.LATEST else earlier


def _order(day: Day) -> tuple[int, int, int]:
    """Days in order; one of which only the year is known counts as the first of that year, so that it yields."""
    when = day.when
    return (when.year, 0 if day.known is Known.YEAR else when.month, 0 if day.known is not Known.DAY else when.day)


def shown(entry: Entry) -> str:
    """An entry's value as a finding may show it."""
    if entry.place.text is None:
        return entry.place.shown
    value = entry.held.value
    return value.when.isoformat() if isinstance(value, Day) else value or "nothing"


def _double(row: Row, first: Child, work: Work) -> None:
    where = f"row {first.place.row}" + ("" if first.place.sheet == row.place.sheet else f" of {first.place.sheet}")
    centre = holder(work.dictionary, Role.CENTRE)
    here, there = (row.first(centre.name), first.values.get(centre.name)) if centre else (None, None)
    if here and there and here.held.value != there.held.value:
        found = f"the key of {where}, but another centre"
        accepted = "two keys for two children, or one row for one child; the same child in two centres is one row"
        work.notes.fault(row.place, found, accepted, "key_in_two_centres")
        return
    accepted = 'one row per child; for further operations as rows, rows = "operations" in the map'
    work.notes.fault(row.place, f"the same key as {where}", accepted, "double_key")
