"""Sheets with one row per operation: the earliest is the index, further rows are what happened afterwards."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from riskmodel.dictionary.expand import DATE
from riskmodel.dictionary.model import Role
from training.registry.cells import plain
from training.registry.mapping.check import EARLIER, NOTHING
from training.registry.mapping.model import UNANSWERED, Assignments, Combine, LaterOperations
from training.registry.reading.dates import Day
from training.registry.reading.doubt import Doubt
from training.registry.reading.held import Held
from training.registry.tidying.children import Child, Children, child_of, take
from training.registry.tidying.notes import Notes, Place
from training.registry.tidying.rows import Entry, Row
from training.registry.tidying.work import Work

YES, NO = "yes", "no"


def gather_operations(rows: Iterable[Row], later: LaterOperations, children: Children, work: Work) -> None:
    """Add one child for each key of the sheet, made of all its rows."""
    by_key: dict[str, list[Row]] = {}
    for row in rows:
        by_key.setdefault(row.key, []).append(row)
    for key, held in by_key.items():
        if key in children:
            where = f"row {children[key].place.row} of {children[key].place.sheet}"
            work.notes.fault(held[0].place, f"the same key as {where}", "each child in one sheet", "double_key")
            continue
        child = _Operations(later, work).child(held)
        if child is not None:
            children[key] = child


@dataclass
class _Operations:
    """The rows of one child, in the order of their dates."""

    later: LaterOperations
    work: Work

    @property
    def notes(self) -> Notes:
        """Where the work's findings and changes are written down."""
        return self.work.notes

    def child(self, rows: list[Row]) -> Child | None:
        """The child of these rows; None when the index operation cannot be told."""
        dated = [(day, row) for row in rows if (day := self._day(row)) is not None]
        if len(dated) < len(rows):
            return None
        dated.sort(key=lambda held: held[0])
        meanings = [(day, row, self._meaning(row, first=place == 0)) for place, (day, row) in enumerate(dated)]
        earlier = [row for _, row, meant in meanings if meant == EARLIER]
        others = [held for held in meanings if held[2] != EARLIER]
        if not others:
            accepted = "one operation of this child that is not an earlier one"
            self.notes.fault(rows[0].place, "earlier operations only", accepted, "no_index")
            return None
        self._refuse_ties(others)
        index_day, index, _ = others[0]
        child = child_of(index, self.notes)
        self._count_earlier(child, earlier, index_day)
        for day, row, meant in others[1:]:
            self._event(child, day, row, meant)
        self._without(child)
        return child

    def _day(self, row: Row) -> date | None:
        entry = row.first(self.work.operation)
        if entry is not None and isinstance(entry.held.value, Day):
            return entry.held.value.when
        accepted = "a date for every operation, so that the index can be told from the later ones"
        self.notes.fault(row.place, "an operation without a date", accepted, "no_date")
        return None

    def _meaning(self, row: Row, *, first: bool) -> str | Assignments:
        """What the row stands for beside its date; for the index nothing has to be said."""
        if self.later.column is None:
            return (("", self.later.every or NOTHING),)
        meant = self.later.codes.get(plain(row.kind))
        if meant is not None and meant[0][1] == EARLIER:
            return EARLIER
        if not first and (meant is None or meant[0][1] == UNANSWERED):
            place = Place(row.place.sheet, row.place.row, self.later.column, row.kind)
            self.notes.doubt(place, Doubt("a line for this word under later_operations.codes", "unknown_word"))
        return meant or ()

    def _refuse_ties(self, held: list[tuple[date, Row, str | Assignments]]) -> None:
        if len(held) > 1 and held[0][0] == held[1][0]:
            found = f"two operations on one day (row {held[0][1].place.row})"
            self.notes.fault(held[1][1].place, found, "one row for the index operation", "two_on_one_day")

    def _count_earlier(self, child: Child, earlier: list[Row], index: date) -> None:
        if not earlier:
            return
        name = self.later.earlier_in
        if name is None:
            self.notes.fault(earlier[0].place, "an earlier operation", "earlier_in in the map", "earlier_in")
            return
        for row in earlier:
            day = self._day(row)
            if day is not None and day > index:
                self.notes.fault(row.place, "an earlier operation after the index", "its true date", "earlier_later")
        own = child.values.get(name)
        if own is not None and own.held.value not in ("", str(len(earlier))):
            found = f"{own.held.value}, but {len(earlier)} earlier rows of this child"
            self.notes.fault(own.place, found, "the same count, or an empty cell", "two_values")
        child.values[name] = Entry(Held(name, str(len(earlier)), "earlier rows counted"), earlier[0].place)

    def _event(self, child: Child, day: date, row: Row, meant: str | Assignments) -> None:
        """What a later row adds: events on its day, and how long the child was followed."""
        self.notes.change(row.place, "", "later operation of a child; its follow-up and events are kept")
        for name, code in meant if isinstance(meant, tuple) else ():
            target, value = (name, code) if name else (code, YES)
            if target in (NOTHING, UNANSWERED):
                continue
            said = Entry(Held(target, value, "row of a later operation"), row.place)
            when = Entry(Held(target + DATE, Day(day), "date of a later operation"), row.place)
            self._say(child, said, when)
        take(child, self._followed(row), self.notes)

    def _say(self, child: Child, said: Entry, when: Entry) -> None:
        held = child.values.get(said.held.target)
        if held is not None and held.held.value == NO:
            found = f"no, but row {said.place.row} is one"
            self.notes.fault(held.place, found, "the same in both, or an empty cell", "two_values")
        elif held is None or held.held.value == "":
            child.values[said.held.target] = said
            if when.held.target in self.work.known:
                child.values[when.held.target] = when

    def _followed(self, row: Row) -> Iterator[Entry]:
        """Times of follow-up, of which the latest of all rows holds."""
        for entry in row.entries:
            target = self.work.known.get(entry.held.target)
            if target is not None and target.variable.role is Role.SEEN_UNTIL:
                yield Entry(entry.held, entry.place, Combine.LATEST, entry.final)

    def _without(self, child: Child) -> None:
        """For a child without such a row: no, if the map says that the sheet has every return to theatre."""
        if self.later.without is None:
            return
        events = {*self.work.dictionary.events, *self.work.dictionary.outcomes}
        codes = [code for held in self.later.codes.values() for name, code in held if not name]
        for name in dict.fromkeys((*([self.later.every] if self.later.every else []), *codes)):
            if name in events and name not in child.values:
                child.values[name] = Entry(Held(name, self.later.without, "no row of a later operation"), child.place)
