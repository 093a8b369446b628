"""Where an outcome's definition contradicts itself or the events and times of follow-up that it is made of."""

from collections.abc import Mapping
from dataclasses import dataclass

from riskmodel.dictionary.expand import MONTHS, time_of
from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.model import Event, OutcomeDefinition, Role, Variable
from riskmodel.dictionary.names import NAME, NAME_ACCEPTED, suggestion


@dataclass(frozen=True, slots=True)
class OutcomeEntry:
    """An outcome with the table that it was read from."""

    fields: Fields
    outcome: OutcomeDefinition


def check_outcomes(
    entries: tuple[OutcomeEntry, ...], events: Mapping[str, Event], variables: Mapping[str, Variable]
) -> None:
    """Add a finding for everything wrong with the outcomes."""
    for entry in entries:
        if not NAME.fullmatch(entry.outcome.name):
            entry.fields.fault(None, f"the name {entry.outcome.name}", NAME_ACCEPTED, "bad_name")
        _events(entry, events)
        _overlaps(entry)
        _followed_to(entry, variables)


def _events(entry: OutcomeEntry, events: Mapping[str, Event]) -> None:
    held, fault = entry.outcome, entry.fields.fault
    if not held.first_of:
        fault("first_of", "no event", "at least one event", "no_event")
    for key, names in (("first_of", held.first_of), ("competes", held.competes), ("never_counts", held.never_counts)):
        for name in names:
            if name not in events:
                fault(key, f"the unknown event {name}", suggestion(name, events), "unknown_event")
    if held.name in events and held.first_of != (held.name,):
        accepted = f'another name, or first_of = ["{held.name}"]'
        fault(None, f"the name {held.name}, which is also an event's", accepted, "duplicate_name")


def _overlaps(entry: OutcomeEntry) -> None:
    held, fault = entry.outcome, entry.fields.fault
    for name in held.competes:
        if name in held.first_of or name == held.name:
            fault("competes", name, "an end that is no part of the outcome itself", "competes_with_itself")
    for name in held.never_counts:
        if name in held.first_of:
            fault("never_counts", name, "an event that first_of does not name", "never_and_always")


def _followed_to(entry: OutcomeEntry, variables: Mapping[str, Variable]) -> None:
    """Scan-based outcomes are followed to the last scan, theatre-based ones to the last contact, never crosswise."""
    held, fault = entry.outcome, entry.fields.fault
    times = {name.removesuffix(MONTHS): known for name, known in variables.items() if known.role is Role.SEEN_UNTIL}
    if not held.seen_until:
        return
    if held.seen_until not in times:
        accepted = f"a time of follow-up: {suggestion(held.seen_until, times)}"
        fault("seen_until", held.seen_until, accepted, "unknown_follow_up")
    elif held.found_by and held.found_by not in variables[time_of(held.seen_until)].finds:
        fitting = [name for name, known in times.items() if held.found_by in known.finds]
        accepted = f"{' or '.join(fitting) or 'a time of follow-up that vouches for it'}"
        found = f"{held.seen_until} for an outcome found by {held.found_by.value}"
        fault("seen_until", found, accepted, "wrong_follow_up")
