"""Kinds of value that a protocol needs beside those of a dictionary: single tables, days, whole numbers, lists."""

from datetime import date, datetime

from riskmodel.dictionary.fields import Fields, is_number, shown

NO_DAY = date.min


def table(fields: Fields, key: str) -> Fields:
    """The table under a key; an empty one when the key is absent."""
    value = fields.raw(key)
    if value is not None and not isinstance(value, dict):
        fields.fault(key, shown(value), f"a table written as [{key}]", "wrong_type")
    place = f"{fields.place}.{key}" if fields.place else key
    return Fields(value if isinstance(value, dict) else {}, fields.sheet, place, fields.findings)


def day(fields: Fields, key: str) -> date:
    """A needed date, written as 2026-11-25 without quotes."""
    value = fields.raw(key)
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    rule = "missing_key" if value is None else "wrong_type"
    fields.fault(key, shown(value), "a date such as 2026-11-25, without quotes", rule)
    return NO_DAY


def whole(fields: Fields, key: str, default: int, *, least: int) -> int:
    """A whole number, `least` or more."""
    value = fields.raw(key)
    if value is None:
        return default
    if not isinstance(value, int) or isinstance(value, bool) or value < least:
        fields.fault(key, shown(value), f"a whole number of at least {least}", "wrong_type")
        return default
    return value


def numbers(fields: Fields, key: str) -> tuple[float, ...]:
    """A list of numbers, empty when the key is absent."""
    value = fields.raw(key)
    if value is None:
        return ()
    if not (isinstance(value, list) and all(map(is_number, value))):
        fields.fault(key, shown(value), "a list of numbers", "wrong_type")
        return ()
    return tuple(float(each) for each in value)


def lists_of_texts(fields: Fields, key: str) -> tuple[tuple[str, ...], ...]:
    """A list of lists of texts, empty when the key is absent."""
    value = fields.raw(key)
    if value is None:
        return ()
    if not (isinstance(value, list) and all(_texts(each) for each in value)):
        fields.fault(key, shown(value), 'a list of lists of texts, such as [["sex"]]', "wrong_type")
        return ()
    return tuple(tuple(each) for each in value)


def _texts(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, str) and each for each in value)
