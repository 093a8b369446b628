"""The language of what goes home: catalogues of messages, and dates as they are written there.

English is the language of the source; every other language is a gettext catalogue under `locale/`. A catalogue that
lacks a message is refused when that message is needed: half a sheet in another language is worse than none.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cache
from gettext import GNUTranslations
from importlib import resources

from riskmodel.errors import DocumentRefused

SOURCE = "en"
DOMAIN = "family"
RIGHT_TO_LEFT = ("ar", "fa", "he", "ur")
# Languages whose catalogue a person who speaks it has not yet read: their sheets say so.
DRAFTS = ("es",)


def message(text: str) -> str:
    """Mark a text of the source for the catalogues; it is translated when a sheet is made."""
    return text


MONTHS = (
    message("January"),
    message("February"),
    message("March"),
    message("April"),
    message("May"),
    message("June"),
    message("July"),
    message("August"),
    message("September"),
    message("October"),
    message("November"),
    message("December"),
)
DATE = message("{day} {month} {year}")


@dataclass(frozen=True, slots=True)
class Language:
    """A language by its code (BCP 47), and how its messages are found."""

    code: str
    find: Callable[[str], str]

    @property
    def direction(self) -> str:
        """Which way it is written: "ltr" or "rtl"."""
        return "rtl" if self.code.split("-")[0] in RIGHT_TO_LEFT else "ltr"

    @property
    def draft(self) -> bool:
        """Whether nobody has read the catalogue yet who speaks the language."""
        return self.code in DRAFTS

    def say(self, text: str, **values: object) -> str:
        """The message in this language, with values put in.

        Raises
        ------
        DocumentRefused
            When the catalogue has no such message.
        """
        return self.find(text).format(**values) if values else self.find(text)

    def day(self, on: date) -> str:
        """A date in words."""
        return self.say(DATE, day=on.day, month=self.say(MONTHS[on.month - 1]), year=on.year)


def available() -> tuple[str, ...]:
    """Codes of the languages that there is a catalogue for, the source's first."""
    folder = resources.files("riskmodel.documents") / "locale"
    found = sorted(held.name for held in folder.iterdir() if held.is_dir()) if folder.is_dir() else []
    return (SOURCE, *found)


@cache
def language(code: str) -> Language:
    """A language by its code.

    Raises
    ------
    DocumentRefused
        When there is no catalogue for it.
    """
    if code == SOURCE:
        return Language(code, lambda text: text)
    if code not in available():
        raise DocumentRefused(f"no catalogue for the language {code!r}; there is one for: {', '.join(available())}")
    path = resources.files("riskmodel.documents") / "locale" / code / f"{DOMAIN}.mo"
    with path.open("rb") as file:
        held = _Strict(file)
    return Language(code, held.gettext)


class _Strict(GNUTranslations):
    """A catalogue that never falls back to the language of the source."""

    def gettext(self, message: str) -> str:
        found = super().gettext(message)
        # The standard library answers a missing message with the message itself.
        if found == message and message not in self._catalog:  # type: ignore[attr-defined]
            raise DocumentRefused(f"the catalogue has no translation of: {message!r}")
        return found
