"""What the columns of a registry can become: variables of the dictionary, and dates in place of their months."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from riskmodel.cases.cells import NO_FLAG
from riskmodel.dictionary.coding import YES_NO_WORDS
from riskmodel.dictionary.expand import MONTHS, date_of
from riskmodel.dictionary.model import TABLES, Dictionary, Kind, Variable
from riskmodel.dictionary.roles import dated

CHILDREN = TABLES[0]


@dataclass(frozen=True, slots=True)
class Target:
    """A column of the cohort. `dated`: the registry gives a date, of which `variable` keeps months or year only."""

    name: str
    variable: Variable
    dated: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """Every word that a cell may hold beside numbers, dates and free text: codes, yes and no, states."""
        own = self.variable.codes
        if self.variable.kind is Kind.YES_NO:
            own = YES_NO_WORDS
        if self.variable.kind is Kind.FLAGS:
            own = (NO_FLAG, *own)
        return (*own, *self.variable.states)


Targets = Mapping[str, Target]


def targets(dictionary: Dictionary) -> Targets:
    """Every name that a map may write after `to`."""
    held = {
        name: Target(name, variable, dated=variable.kind is Kind.DATE)
        for name, variable in dictionary.variables.items()
    }
    for day, months in (*dated(dictionary), *_dated_rows(dictionary)):
        held[day] = Target(day, dictionary.variables[months], dated=True)
    return MappingProxyType(held)


def _dated_rows(dictionary: Dictionary) -> Iterator[tuple[str, str]]:
    """Dates in place of the months of further tables: of a measurement, an event."""
    for name, variable in dictionary.variables.items():
        dates = date_of(name)
        if variable.table != CHILDREN and name.endswith(MONTHS) and dates not in dictionary.variables:
            yield dates, name
