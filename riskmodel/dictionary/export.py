"""The dictionary for others: a Table Schema descriptor, and the columns of an empty sheet."""

import re
from typing import Any

from riskmodel.dictionary.coding import EMPTY_WORDS
from riskmodel.dictionary.model import LONG_TABLES, Dictionary, Kind, Role, Variable
from riskmodel.dictionary.roles import dated, holder

_TYPES = {
    Kind.NUMBER: "number",
    Kind.INTEGER: "integer",
    Kind.ORDINAL: "integer",
    Kind.LEVEL: "string",
    Kind.YES_NO: "boolean",
    Kind.FLAGS: "string",
    Kind.DATE: "date",
    Kind.TEXT: "string",
}


def template_columns(dictionary: Dictionary) -> tuple[str, ...]:
    """Header of an empty sheet of children: the core columns, or all where none is marked core.

    Dates stand where the dictionary counts months: they are what the notes hold.
    """
    days = {months: day for day, months in dated(dictionary)}
    held = _of_a_child(dictionary)
    return tuple(days.get(each.name, each.name) for each in [each for each in held if each.core] or held)


def table_schema(dictionary: Dictionary) -> dict[str, Any]:
    """The children's table as a Table Schema descriptor (Frictionless Data, specs.frictionlessdata.io).

    It says what one cell may hold. What cells must say together (a time with every yes, times in order, groups that
    follow from levels) no such descriptor can say.
    """
    fields = [_field(variable) for variable in _of_a_child(dictionary)]
    fields += [_day(day, dictionary.variables[months]) for day, months in dated(dictionary)]
    key = holder(dictionary, Role.KEY)
    return {
        "name": dictionary.name,
        "fields": fields,
        "missingValues": ["", *EMPTY_WORDS],
        "fieldsMatch": "superset",
        **({"primaryKey": [key.name]} if key else {}),
    }


def _of_a_child(dictionary: Dictionary) -> list[Variable]:
    """The variables that a child has one of: the columns of its row."""
    return [variable for variable in dictionary.variables.values() if variable.table not in LONG_TABLES]


def _field(variable: Variable) -> dict[str, Any]:
    coded = variable.kind is Kind.LEVEL or (variable.kind is Kind.ORDINAL and bool(variable.levels))
    held: dict[str, Any] = {
        "name": variable.name,
        "type": "string" if coded else _TYPES[variable.kind],
        "title": variable.label,
        "description": variable.how,
    }
    if variable.unit:
        held["unit"] = variable.unit
    if variable.kind is Kind.YES_NO:
        held |= {"trueValues": ["yes"], "falseValues": ["no"]}
    if constraints := _constraints(variable, coded=coded):
        held["constraints"] = constraints
    return held


def _constraints(variable: Variable, *, coded: bool) -> dict[str, Any]:
    held: dict[str, Any] = {}
    if coded:
        held["enum"] = list(variable.codes)
    if variable.kind is Kind.FLAGS:
        code = "|".join(map(re.escape, variable.codes))
        held["pattern"] = rf"none|(?:{code})(?:\+(?:{code}))*"
    if variable.hard and not coded:
        whole = variable.kind in (Kind.INTEGER, Kind.ORDINAL)
        held |= dict(zip(("minimum", "maximum"), map(int, variable.hard) if whole else variable.hard, strict=True))
    if variable.role is Role.KEY:
        held |= {"required": True, "unique": True}
    return held


def _day(name: str, months: Variable) -> dict[str, Any]:
    return {
        "name": name,
        "type": "date",
        "title": months.label,
        "description": f"a date in place of {months.name}",
    }
