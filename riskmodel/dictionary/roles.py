"""Who plays which part in a dictionary: the key, the day that months are counted from, the dates in their place."""

from collections.abc import Iterator

from riskmodel.dictionary.expand import MONTHS, date_of
from riskmodel.dictionary.model import Dictionary, Role, Variable

_MAY_BE_DATED = (Role.EVENT, Role.SEEN_UNTIL)


def holder(dictionary: Dictionary, role: Role) -> Variable | None:
    """The variable with a role that only one may have."""
    return next((held for held in dictionary.variables.values() if held.role is role), None)


def origin(dictionary: Dictionary) -> Variable | None:
    """The variable with the date that months are counted from."""
    return holder(dictionary, Role.DATE)


def dated(dictionary: Dictionary) -> Iterator[tuple[str, str]]:
    """Names of the columns of dates that may stand in place of months, each with its variable of months."""
    if origin(dictionary) is not None:
        for name, variable in dictionary.variables.items():
            dates = date_of(name)
            if name.endswith(MONTHS) and variable.role in _MAY_BE_DATED and dates not in dictionary.variables:
                yield dates, name
