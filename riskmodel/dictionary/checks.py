"""Where a variable contradicts itself, the dictionary's other variables, or what a cell can hold."""

from collections.abc import Mapping
from dataclasses import dataclass

from riskmodel.dictionary.coding import EMPTY_WORDS
from riskmodel.dictionary.expand import DATE, MONTHS, clashes, year_of
from riskmodel.dictionary.fields import Fields, any_of
from riskmodel.dictionary.model import Kind, Role, Variable
from riskmodel.dictionary.names import CODE, NAME, NAME_ACCEPTED, points_at_person, suggestion

_WITH_LEVELS = (Kind.LEVEL, Kind.FLAGS)
_MAY_HAVE_LEVELS = (*_WITH_LEVELS, Kind.ORDINAL)
_AT_MOST_ONE = (Role.KEY, Role.CENTRE, Role.DATE)
_KIND_OF_ROLE = {
    Role.KEY: (Kind.TEXT,),
    Role.CENTRE: (Kind.TEXT, Kind.LEVEL),
    Role.DATE: (Kind.DATE,),
    Role.SEEN_UNTIL: (Kind.NUMBER,),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """A variable with the table that it was read from, so that a fault can name its place."""

    fields: Fields
    variable: Variable


def check_variables(entries: tuple[Entry, ...], known: Mapping[str, Variable]) -> None:
    """Add a finding for everything wrong with the entries; `known` holds all variables as written out."""
    for entry in entries:
        for check in (_name, _numbers, _levels, _states, _groups, _sides, _role):
            check(entry, known)
    _roles(entries, known)


def check_names(names: tuple[str, ...], fields: Fields) -> None:
    """Add a finding for every column name that two entries would share."""
    for name in clashes(names):
        fields.fault(name, "two entries that give this column", "each column once", "duplicate_name")


def _name(entry: Entry, known: Mapping[str, Variable]) -> None:
    name = entry.variable.name
    if not NAME.fullmatch(name):
        entry.fields.fault(None, f"the name {name}", NAME_ACCEPTED, "bad_name")
    elif points_at_person(name):
        accepted = "no column for a direct identifier; a key that only the department can resolve"
        entry.fields.fault(None, f"the name {name}", accepted, "identifier_name")


def _numbers(entry: Entry, known: Mapping[str, Variable]) -> None:
    held, fault = entry.variable, entry.fields.fault
    for key, span in (("hard", held.hard), ("soft", held.soft)):
        if span is not None and not held.kind.numeric:
            fault(key, f"a range on a {held.kind.value}", "ranges on numbers only", "range_on_words")
    if held.hard and held.soft and not (held.hard[0] <= held.soft[0] and held.soft[1] <= held.hard[1]):
        fault("soft", _span(held.soft), f"inside the hard range {_span(held.hard)}", "soft_outside_hard")
    for norm in held.norms:
        for limit in (norm.low, norm.high):
            if limit is not None and held.hard and not held.hard[0] <= limit <= held.hard[1]:
                fault("norms", f"a published {limit:g}", f"a hard range that holds it, not {_span(held.hard)}", "norms")
    if held.monotone is not None and not (held.kind.numeric or held.kind is Kind.YES_NO):
        fault("monotone", f"{held.monotone} on a {held.kind.value}", "numbers and yes_no only", "monotone_on_words")


def _levels(entry: Entry, known: Mapping[str, Variable]) -> None:
    held, fault = entry.variable, entry.fields.fault
    if held.levels and held.kind not in _MAY_HAVE_LEVELS:
        fault("levels", f"levels on a {held.kind.value}", "levels on level, flags or ordinal", "levels_on_numbers")
    if held.kind in _WITH_LEVELS and len(held.levels) < 2 and "levels_of" not in entry.fields:
        fault("levels", f"{len(held.levels)} levels", "at least 2", "too_few_levels")
    if held.kind is Kind.ORDINAL and not held.levels and held.hard is None:
        fault("levels", "neither levels nor a hard range", "one of the two on an ordinal", "too_few_levels")
    for code in clashes(held.codes):
        fault("levels", f"the code {code} twice", "each code once", "duplicate_code")
    for code in held.codes:
        if not CODE.fullmatch(code) or code in EMPTY_WORDS:
            accepted = "letters, digits, point, hyphen and underscore, and none of " + ", ".join(EMPTY_WORDS)
            fault("levels", f"the code {code}", accepted, "bad_code")


def _states(entry: Entry, known: Mapping[str, Variable]) -> None:
    for word in entry.variable.states:
        if word not in EMPTY_WORDS:
            entry.fields.fault("states", word, any_of(EMPTY_WORDS), "unknown_word")


def _groups(entry: Entry, known: Mapping[str, Variable]) -> None:
    held, fault = entry.variable, entry.fields.fault
    if held.grouped_by is None:
        if any(level.group is not None for level in held.levels):
            fault(
                "levels", "groups without grouped_by", "grouped_by = the variable that the groups belong to", "groups"
            )
        return
    target = known.get(held.grouped_by)
    if target is None or target.kind is not Kind.LEVEL or target.name == held.name:
        levels = [name for name, other in known.items() if other.kind is Kind.LEVEL and name != held.name]
        fault("grouped_by", held.grouped_by, f"another level variable: {suggestion(held.grouped_by, levels)}", "groups")
        return
    for level in held.levels:
        if level.group not in target.codes:
            found = f"the group {level.group} of {level.code}" if level.group else f"no group for {level.code}"
            fault("levels", found, f"a level of {target.name}: {', '.join(target.codes)}", "unknown_group")


def _sides(entry: Entry, known: Mapping[str, Variable]) -> None:
    held, fault = entry.variable, entry.fields.fault
    for key, pattern in (("sides", held.sides), ("deed", held.deed if held.sides and not held.side else None)):
        if pattern is not None and pattern.count("{side}") != 1:
            fault(key, pattern, "a name with {side} once, such as x_{side}_mm", "bad_sides")


def _role(entry: Entry, known: Mapping[str, Variable]) -> None:
    held, fault = entry.variable, entry.fields.fault
    kinds = _KIND_OF_ROLE.get(held.role)
    if kinds and held.kind not in kinds:
        fault("kind", held.kind.value, f"{_words(kinds)} with role {held.role.value}", "kind_of_role")
    if held.role is Role.SEEN_UNTIL:
        if not held.name.endswith(MONTHS) or held.unit != "months":
            fault(None, f"the name {held.name} in {held.unit or 'no unit'}", f"NAME{MONTHS} in months", "kind_of_role")
        if not held.finds:
            fault("finds", "nothing", "the kinds of outcome it can vouch for: scan, theatre, clinic", "missing_key")
    elif held.finds:
        fault("finds", "finds", "only with role seen_until", "kind_of_role")
    if held.role is Role.DATE and held.name.endswith(DATE):
        _year(entry, known)
    elif held.role is Role.DATE:
        fault(None, f"the name {held.name}", f"NAME{DATE} with role date", "kind_of_role")


def _year(entry: Entry, known: Mapping[str, Variable]) -> None:
    """Of a date only the year is kept: there must be a column for it."""
    name = year_of(entry.variable.name)
    year = known.get(name)
    if year is None or year.kind is not Kind.INTEGER:
        entry.fields.fault(None, f"no integer variable {name}", f"{name}, which keeps the year", "no_year")


def _roles(entries: tuple[Entry, ...], known: Mapping[str, Variable]) -> None:
    for role in _AT_MOST_ONE:
        holders = [entry for entry in entries if entry.variable.role is role]
        for entry in holders[1:]:
            entry.fields.fault("role", role.value, f"once: {holders[0].variable.name} has it already", "role_twice")


def _span(span: tuple[float, float]) -> str:
    return f"[{span[0]:g}, {span[1]:g}]"


def _words(kinds: tuple[Kind, ...]) -> str:
    return " or ".join(kind.value for kind in kinds)
