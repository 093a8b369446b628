"""What every step of tidying needs."""

from dataclasses import dataclass
from datetime import date

from riskmodel.dictionary.model import Dictionary
from riskmodel.dictionary.roles import origin
from training.registry.targets import Targets, targets
from training.registry.tidying.notes import Notes


@dataclass(frozen=True, slots=True)
class Work:
    """The dictionary, the names that a map may use, the notes taken, and the day of reading."""

    dictionary: Dictionary
    known: Targets
    notes: Notes
    on: date

    @property
    def operation(self) -> str:
        """Name of the variable with the date of the index operation; empty when the dictionary has none."""
        start = origin(self.dictionary)
        return "" if start is None else start.name


def begin(dictionary: Dictionary, on: date) -> Work:
    """Work without notes yet."""
    return Work(dictionary, targets(dictionary), Notes(), on)
