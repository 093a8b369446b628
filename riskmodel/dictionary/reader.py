"""From files to one checked dictionary; everything that is wrong is said at once.

The way of a file: TOML (`files`) -> tables read key by key (`fields`) -> one frozen entry each (`entries`) -> a column
a side, deed, status and time (`expand`) -> held against each other (`checks`, `outcomes`) -> `Dictionary` (`document`).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from riskmodel.dictionary import entries
from riskmodel.dictionary.checks import Entry, check_names, check_variables
from riskmodel.dictionary.document import FORMAT, assembled
from riskmodel.dictionary.expand import status_and_time, written_out
from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.files import Source, sources
from riskmodel.dictionary.model import Dictionary, Event, Level, Variable
from riskmodel.dictionary.names import NAME, NAME_ACCEPTED, suggestion
from riskmodel.dictionary.outcomes import OutcomeEntry, check_outcomes
from riskmodel.errors import DictionaryRefused, Finding, refuse_errors

ALL_EVENTS = "events"  # what `levels_of` says for the names of all events


def read(name_or_path: str | Path, base: Path | None = None) -> Dictionary:
    """Read a dictionary by its shipped name ("cvj"), from one TOML file, or from a folder of them.

    Parameters
    ----------
    name_or_path : a shipped name, or a path
    base : folder that a relative path starts from (the protocol's); the working folder when left out

    Raises
    ------
    DictionaryRefused
        With one finding for each fault of the files: unknown keys (with the nearest known one), bad kinds, ranges and
        levels, groups and events that do not exist, outcomes that contradict themselves.
    """
    gathered = _Gathered()
    for source in sources(name_or_path, base):
        gathered.add(source)
    return gathered.dictionary()


@dataclass
class _Gathered:
    """What the files held so far, and everything found wrong with it.

    `sheet` is the file read last: what is wrong with the whole is told under its name.
    """

    findings: list[Finding] = field(default_factory=list)
    heads: dict[str, str] = field(default_factory=dict)
    citations: dict[str, str] = field(default_factory=dict)
    variables: list[tuple[str, Fields]] = field(default_factory=list)
    events: list[tuple[str, Fields]] = field(default_factory=list)
    outcomes: list[tuple[str, Fields]] = field(default_factory=list)
    sheet: str = ""

    def add(self, source: Source) -> None:
        """Take in one file."""
        self.sheet = source.sheet
        fields = Fields(source.table, source.sheet, "", self.findings)
        fields.format(FORMAT)
        for key in ("name", "version"):
            self._head(key, fields)
        for name, table in fields.named_tables("source").items():
            self.citations[name] = entries.source(table)
        self.variables += fields.named_tables("variable").items()
        self.events += fields.named_tables("event").items()
        self.outcomes += fields.named_tables("outcome").items()
        fields.finish()

    def _head(self, key: str, fields: Fields) -> None:
        value = fields.optional(key)
        held = self.heads.setdefault(key, value) if value else None
        if held != value:
            fields.fault(key, f"{value} here, {held} in another file", f"the same {key} in every file", "two_heads")

    def dictionary(self) -> Dictionary:
        """Everything parsed, written out and checked.

        Raises
        ------
        DictionaryRefused
            With all findings.
        """
        whole = Fields({}, self.sheet, "", self.findings)
        for key in ("name", "version"):
            if key not in self.heads:
                whole.fault(key, "nothing", f'{key} = "..." in one of the files', "missing_key")
        events = tuple(entries.event(name, table) for name, table in self._once(self.events, "event"))
        variables = self._variables(events)
        outcomes = self._outcomes()
        known = _written_out(variables, events, outcomes, whole)
        check_variables(variables, known)
        _check_event_names(events, whole)
        by_name = {event.name: event for event in events}
        check_outcomes(outcomes, by_name, known)
        refuse_errors(self.findings, DictionaryRefused)
        return assembled(
            self.heads["name"], self.heads["version"], known.values(), events, (entry.outcome for entry in outcomes)
        )

    def _variables(self, events: tuple[Event, ...]) -> tuple[Entry, ...]:
        """The variables, those with `levels_of` with the levels that they share."""
        shared: dict[str, str | None] = {}
        held: dict[str, Entry] = {}
        for name, table in self._once(self.variables, "variable"):
            shared[name] = table.optional("levels_of")  # asked before the entry finishes the table
            held[name] = Entry(table, entries.variable(name, table, self.citations))
        own: dict[str, tuple[Level, ...]] = {name: entry.variable.levels for name, entry in held.items()}
        own[ALL_EVENTS] = tuple(Level(event.name, event.label) for event in events)
        return tuple(_with_levels(entry, shared[name], own) for name, entry in held.items())

    def _outcomes(self) -> tuple[OutcomeEntry, ...]:
        held = self._once(self.outcomes, "outcome")
        return tuple(OutcomeEntry(table, entries.outcome(name, table)) for name, table in held)

    def _once(self, tables: list[tuple[str, Fields]], what: str) -> list[tuple[str, Fields]]:
        """The tables without those whose name an earlier file had already."""
        first: dict[str, Fields] = {}
        for name, table in tables:
            if name in first:
                table.fault(None, f"a second {what} {name}", f"once; {first[name].sheet} has it", "duplicate_name")
            else:
                first[name] = table
        return list(first.items())


def _with_levels(entry: Entry, source: str | None, own: Mapping[str, tuple[Level, ...]]) -> Entry:
    """The entry with the levels of the variable that it shares them with, without their groups."""
    if source is None:
        return entry
    if not own.get(source) or entry.variable.levels:
        accepted = "a variable with levels of its own, or events, and no levels beside it"
        entry.fields.fault("levels_of", source, f"{accepted}: {suggestion(source, own)}", "levels_of")
        return entry
    levels = tuple(replace(level, group=None) for level in own[source])
    return Entry(entry.fields, replace(entry.variable, levels=levels))


def _written_out(
    variables: tuple[Entry, ...],
    events: tuple[Event, ...],
    outcomes: tuple[OutcomeEntry, ...],
    whole: Fields,
) -> Mapping[str, Variable]:
    """Every column of the children, in order: variables with their sides and deeds, then outcomes, then events."""
    columns = [column for entry in variables for column in written_out(entry.variable)]
    own = {entry.outcome.name for entry in outcomes}
    for entry in outcomes:
        columns += status_and_time(entry.outcome)
    for event in events:
        if event.name not in own:
            columns += status_and_time(event)
    check_names(tuple(column.name for column in columns), whole)
    return {column.name: column for column in columns}


def _check_event_names(events: tuple[Event, ...], whole: Fields) -> None:
    for event in events:
        if not NAME.fullmatch(event.name):
            whole.fault(f"event.{event.name}", f"the name {event.name}", NAME_ACCEPTED, "bad_name")
