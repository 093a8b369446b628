"""What a cell gives."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from training.registry.mapping.model import NO_WORDS
from training.registry.reading.dates import Day
from training.registry.targets import Targets


@dataclass(frozen=True, slots=True)
class Held:
    """One value for `target`.

    `value`: the text that the cohort's file will hold ("" for missing), or a date still to be turned into months.
    `rule` names what was done to the cell. `born`: the date is one of birth, of which an age is made.
    """

    target: str
    value: str | Day
    rule: str = ""
    born: bool = False


@dataclass(frozen=True, slots=True)
class Setting:
    """What the cells of a sheet are read against: targets, the sheet's own empty words, and the day of reading."""

    targets: Targets
    on: date
    empty: Mapping[str, str] = field(default_factory=lambda: NO_WORDS)
