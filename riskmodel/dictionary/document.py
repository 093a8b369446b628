"""The dictionary as one JSON document, everything written out, and back again."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from types import MappingProxyType
from typing import Any

from riskmodel.dictionary import entries
from riskmodel.dictionary.checks import Entry, check_names, check_variables
from riskmodel.dictionary.expand import year_of
from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.model import Dictionary, Event, OutcomeDefinition, Role, Variable
from riskmodel.errors import DictionaryRefused, Finding, refuse_errors

FORMAT = 1


def to_document(dictionary: Dictionary) -> dict[str, Any]:
    """The dictionary as plain JSON values; keys at their neutral value are left out, lists keep the order."""
    return {
        "format": FORMAT,
        "name": dictionary.name,
        "version": dictionary.version,
        "variables": [_plain(part) for part in dictionary.variables.values()],
        "events": [_plain(part) for part in dictionary.events.values()],
        "outcomes": [_plain(part) for part in dictionary.outcomes.values()],
    }


def digest_of(dictionary: Dictionary) -> str:
    """SHA-256 of the document, keys sorted, as 64 hexadecimal digits."""
    text = json.dumps(to_document(dictionary), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def from_document(document: Mapping[str, Any]) -> Dictionary:
    """The dictionary that `to_document` wrote, checked again.

    Raises
    ------
    DictionaryRefused
        When the document was altered into something that no dictionary can hold.
    """
    findings: list[Finding] = []
    whole = Fields(document, "dictionary", "", findings)
    if whole.raw("format") != FORMAT:
        whole.fault("format", str(whole.raw("format")), f"format {FORMAT}", "format")
    name, version = whole.text("name", None), whole.text("version", None)
    variables = tuple(Entry(part, entries.variable(_name(part), part, {})) for part in whole.tables("variables"))
    events = tuple(entries.event(_name(part), part) for part in whole.tables("events"))
    outcomes = tuple(entries.outcome(_name(part), part) for part in whole.tables("outcomes"))
    whole.finish()
    known = {entry.variable.name: entry.variable for entry in variables}
    check_names(tuple(entry.variable.name for entry in variables), whole)
    check_variables(variables, known)
    refuse_errors(findings, DictionaryRefused)
    return assembled(name, version, known.values(), events, outcomes)


def restricted(dictionary: Dictionary, names: Iterable[str], outcome: str | None = None) -> Dictionary:
    """The part of a dictionary that these variables need, in the dictionary's order.

    The key, what the variables are grouped by and the year of a date come along, and with `outcome` that outcome and
    its events.

    Raises
    ------
    KeyError
        When the dictionary has no such variable or outcome.
    """
    named = [dictionary.variables[name] for name in names]
    wanted = {held.name for held in named} | {held.grouped_by for held in named}
    wanted |= {year_of(held.name) for held in named if held.role is Role.DATE}
    outcomes = {} if outcome is None else {outcome: dictionary.outcomes[outcome]}
    parts = {part for held in outcomes.values() for part in (*held.first_of, *held.competes, *held.never_counts)}
    return assembled(
        dictionary.name,
        dictionary.version,
        (held for held in dictionary.variables.values() if held.name in wanted or held.role is Role.KEY),
        (held for held in dictionary.events.values() if held.name in parts),
        outcomes.values(),
    )


def assembled(
    name: str,
    version: str,
    variables: Iterable[Variable],
    events: Iterable[Event],
    outcomes: Iterable[OutcomeDefinition],
) -> Dictionary:
    """A dictionary of parts that were checked already, with its digest."""
    parts: dict[str, Any] = {
        "variables": MappingProxyType({part.name: part for part in variables}),
        "events": MappingProxyType({part.name: part for part in events}),
        "outcomes": MappingProxyType({part.name: part for part in outcomes}),
    }
    return Dictionary(name, version, **parts, digest=digest_of(Dictionary(name, version, **parts)))


def _name(part: Fields) -> str:
    return part.text("name", None)


def _plain(value: object) -> Any:
    """A frozen value of the dictionary as JSON: a mapping without what stands at its default."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if is_dataclass(value):
        held = {spot.name: (getattr(value, spot.name), spot.default) for spot in fields(value)}
        return {name: _plain(part) for name, (part, default) in held.items() if default is MISSING or part != default}
    return value
