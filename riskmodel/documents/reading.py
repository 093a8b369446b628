"""How hard a text is to read: the Flesch-Kincaid grade, for English.

grade = 0.39 words / sentences + 11.8 syllables / words - 15.59 (Kincaid et al., Research Branch Report 8-75, Naval
Technical Training Command, 1975; coefficients from memory). A heading, a list item or a table cell ends a sentence.
Numbers count as they are spoken.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

_WORD = re.compile(r"[A-Za-z\u00c0-\u024f]+(?:['\u2019][A-Za-z]+)*|\d+")
_SENTENCE_END = re.compile(r"[.!?:]+(?=\s|$)|\n+")
_VOWELS = "aeiouy"
# Words that the rules below miscount.
_EXCEPTIONS = {
    "area": 3,
    "being": 2,
    "create": 2,
    "created": 3,
    "hundred": 2,
    "hundreds": 2,
    "ideas": 3,
    "doctors'": 2,
    "doing": 2,
    "every": 2,
    "everyone": 3,
    "everything": 3,
    "going": 2,
    "halo": 2,
    "idea": 3,
    "isn't": 2,
    "didn't": 2,
    "doesn't": 2,
    "something": 2,
    "someone": 2,
    "sometimes": 2,
    "somewhere": 2,
    "people": 2,
    "science": 2,
    "quiet": 2,
    "diet": 2,
    "area's": 3,
    "seeing": 2,
    "trying": 2,
    "flying": 2,
    "lying": 2,
    "playing": 2,
    "saying": 2,
    "staying": 2,
    "video": 3,
    "radio": 3,
    "variety": 4,
    "society": 4,
    "riot": 2,
    "lion": 2,
    "giant": 2,
    "client": 2,
    "fluid": 2,
    "ruin": 2,
    "poem": 2,
    "real": 1,
    "really": 2,
    "maybe": 2,
    "safely": 2,
    "likely": 2,
    "closely": 2,
    "surely": 2,
    "merely": 2,
    "lonely": 2,
    "careful": 2,
    "carefully": 3,
    "hopeful": 2,
    "useful": 2,
    "homework": 2,
    "movement": 2,
    "statement": 2,
    "business": 2,
    "wednesday": 2,
    "evening": 2,
    "different": 3,
    "several": 3,
    "previous": 3,
    "serious": 3,
    "interest": 3,
    "hours": 2,
    "hour": 2,
    "our": 1,
    "ours": 1,
    "fire": 1,
    "tired": 1,
    "higher": 2,
    "lower": 2,
    "chance": 1,
    "choice": 1,
    "anyone": 3,
    "vessel": 2,
    "gone": 1,
}
_ONES = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)  # zero, one, ... nineteen
_TENS = (0, 1, 2, 2, 2, 2, 2, 3, 2, 2)  # -, ten, twenty, ... ninety


@dataclass(frozen=True, slots=True)
class Counts:
    """What the grade is made of; counts of parts add up to those of the whole."""

    words: int = 0
    sentences: int = 0
    syllables: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(self.words + other.words, self.sentences + other.sentences, self.syllables + other.syllables)

    @property
    def grade(self) -> float:
        """School grade (United States); 0 for no words."""
        if not self.words:
            return 0.0
        return 0.39 * self.words / self.sentences + 11.8 * self.syllables / self.words - 15.59


def count(texts: Iterable[str]) -> Counts:
    """Counts over texts, each of which ends a sentence."""
    return sum((_count(text) for text in texts), Counts())


def grade(texts: Iterable[str]) -> float:
    """The Flesch-Kincaid grade of texts read one after the other."""
    return count(texts).grade


@lru_cache(maxsize=4096)
def _count(text: str) -> Counts:
    sentences = [words for part in _SENTENCE_END.split(text) if (words := _WORD.findall(part))]
    told = [word for words in sentences for word in words]
    return Counts(len(told), len(sentences), sum(syllables(word) for word in told))


def syllables(word: str) -> int:
    """Syllables of one English word or whole number, at least 1.

    >>> [syllables(word) for word in ("bone", "neck", "operation", "84")]
    [1, 1, 4, 3]
    """
    if word.isdigit():
        return _spoken(int(word))
    plain = word.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    if plain in _EXCEPTIONS:
        return _EXCEPTIONS[plain]
    return _by_rule(plain.removesuffix("'s").replace("'", ""))


def _by_rule(word: str) -> int:
    """Groups of vowels, less those that are silent."""
    groups = len(re.findall(r"[aeiouy]+", word))
    silent_e = word.endswith("e") and not re.search(r"[^aeiouy]le$", word) and not re.search(r"[aeiouy]e$", word)
    silent_es = bool(re.search(r"[^aeiouycsxzg]es$", word)) and not re.search(r"[^aeiouy]les$|(?:sh|ch)es$", word)
    silent_ed = bool(re.search(r"[^aeiouytd]ed$", word)) and not re.search(r"[^aeiouyl]led$", word)
    middle_e = bool(re.search(r"(?:re|ve|se|te|me|ne|ke|pe|fe)(?:ly|ful|ness|ment|less)$", word))
    apart = len(re.findall(r"i(?:a|o(?!us|n)|um)|rience|(?<![gq])ua|eo(?!u|n$)|[aeiouy]ing$", word))
    return max(1, groups - silent_e - silent_es - silent_ed - middle_e + apart)


def _spoken(number: int) -> int:
    """Syllables of a whole number as it is said: 127 is one hundred and twenty-seven."""
    if number < 20:
        return _ONES[number]
    if number < 100:
        return _TENS[number // 10] + (_ONES[number % 10] if number % 10 else 0)
    if number < 1000:
        rest = number % 100
        return _ONES[number // 100] + 2 + (1 + _spoken(rest) if rest else 0)
    if 2000 <= number < 2100:
        return 1 + 2 + (1 + _spoken(number % 100) if number % 100 else 0)
    rest = number % 1000
    return _spoken(number // 1000) + 2 + (_spoken(rest) if rest else 0)
