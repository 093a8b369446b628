"""Which variable a header may stand for."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.dictionary.model import SIDES, Dictionary, Role
from riskmodel.dictionary.roles import holder
from training.registry.cells import plain
from training.registry.mapping.model import NotCarried, Reads
from training.registry.reading.units import known as known_unit
from training.registry.targets import Targets, targets
from training.registry.words import SIDE, Words, names_person

_UNIT = re.compile(r"\s*[(\[]([^()\[\]]+)[)\]]\s*$")


@dataclass(frozen=True, slots=True)
class Guess:
    """What a column may be; `why` says what the guess rests on, None when the header is the variable's own name."""

    to: tuple[str, ...] = ()
    reads: Reads = Reads.VALUE
    not_carried: NotCarried | None = None
    flag: str | None = None
    why: str | None = None


class Guesses:
    """Guesses from headers, by the dictionary's names and labels and the shipped lists."""

    def __init__(self, dictionary: Dictionary, words: Words) -> None:
        self.dictionary, self.words = dictionary, words
        self.targets: Targets = targets(dictionary)
        self.labels = {plain(held.label): name for name, held in dictionary.variables.items()}
        self.key, self.centre = holder(dictionary, Role.KEY), holder(dictionary, Role.CENTRE)

    def known(self, header: str) -> bool:
        """Whether anything is guessed about a column of this name."""
        return self.of(header) is not None

    def of(self, header: str) -> Guess | None:
        """The guess; None when nothing is known of such a header."""
        if header in self.targets:
            return Guess((header,))
        word = plain(header)
        return next((guess for name in _names(word) for guess in self._guesses(name, header)), None)

    def _guesses(self, word: str, header: str) -> Iterator[Guess]:
        """Guesses from one form of the header, the surest first."""
        yield from self._private(word, header)
        name = self.words.headers.get(word) or self.labels.get(word)
        if name is not None and name in self.targets:
            yield Guess((name,), why="by its header")
        for span in self.words.spans:
            if word in span.headers and set(span.to) <= set(self.targets):
                yield Guess(span.to, Reads.SPAN, why="by its header")
        yield from self._sided(word)
        if word in self.words.flags:
            name, flag = self.words.flags[word]
            yield Guess((name,), Reads.FLAG, flag=flag, why="by its header")
        yield from self._service(word)

    def _private(self, word: str, header: str) -> Iterator[Guess]:
        ages = (name for name, held in self.dictionary.variables.items() if held.unit == "years")
        age = next(ages, None)
        if word in self.words.of("headers.birth_date"):
            if age is not None:
                yield Guess((age,), Reads.BIRTH_DATE, why="a date of birth: the age is made of it, it is not written")
            yield Guess(not_carried=NotCarried.IDENTIFIER, why="a date of birth")
        if names_person(header) or word in self.words.of("headers.identifier"):
            yield Guess(not_carried=NotCarried.IDENTIFIER, why="an identifier, by its header")

    def _sided(self, word: str) -> Iterator[Guess]:
        """A variable of one side, or both sides in one column."""
        stem, side = self._side(word)
        pattern = self.words.paired.get(stem)
        if pattern is None:
            return
        both = tuple(pattern.replace(SIDE, each) for each in SIDES)
        if not set(both) <= set(self.targets):
            return
        if side is not None:
            yield Guess((pattern.replace(SIDE, side),), why="by its header and side")
        else:
            yield Guess(both, Reads.SIDES, why="both sides in one column, by its header")

    def _side(self, word: str) -> tuple[str, str | None]:
        parts = word.replace("/", " ").split()
        for side in SIDES:
            marks = self.words.of(f"sides.{side}")
            if any(part in marks for part in parts):
                return " ".join(part for part in parts if part not in marks), side
        return word, None

    def _service(self, word: str) -> Iterator[Guess]:
        """Key, centre, and what is never carried."""
        for kind, held in (("key", self.key), ("centre", self.centre)):
            if held is not None and word in self.words.of(f"headers.{kind}"):
                yield Guess((held.name,), why="by its header")
        if word in self.words.of("headers.free_text"):
            yield Guess(not_carried=NotCarried.FREE_TEXT, why="free text, by its header")
        if word in self.words.of("headers.not_needed"):
            yield Guess(not_carried=NotCarried.NOT_NEEDED, why="no variable of the dictionary")


def header_unit(header: str) -> str | None:
    """The unit in brackets at the end of a header, when it is one that is known."""
    found = _UNIT.search(header)
    return known_unit(found[1]) if found else None


def _names(word: str) -> Iterator[str]:
    """The header as it is, without what stands in brackets, without a question mark, and its last part."""
    yield word
    bare = _UNIT.sub("", word)
    yield bare
    yield bare.rstrip("?: ")
    if " / " in bare:
        yield bare.rsplit(" / ", 1)[1]
        yield bare.replace(" / ", " ")
