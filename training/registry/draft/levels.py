"""Drafting the codes of a column of levels, of yes and no, or of flags."""

import re

from riskmodel.dictionary.expand import STATUS_LEVELS
from riskmodel.dictionary.model import Kind
from training.registry.cells import plain
from training.registry.draft.contents import Contents
from training.registry.draft.lines import ColumnDraft, Line
from training.registry.mapping.model import UNANSWERED
from training.registry.reading.value import MISSING
from training.registry.targets import Target
from training.registry.words import Words

STATES = ("not_measurable", "not_applicable", "not_tested")
_ASKED = "this word may mean several things"


def draft_levels(draft: ColumnDraft, held: Contents, target: Target, words: Words, *, flag: bool = False) -> None:
    """Add a line for every word of the column that the lists know, and say how many they do not know."""
    speller = _Speller(target, words, yes_no=flag or target.variable.kind is Kind.YES_NO)
    unknown = [word for word in held.texts if not speller.line(word, draft)]
    if speller.marked and target.name in words.question_mark:
        draft.say("question_mark", words.question_mark[target.name], "what a question mark beside the value sets")
    if unknown:
        draft.remarks.append(
            f"{several(len(unknown), 'word')} in no list: a line under codes for each; {held.rows(unknown)}"
        )


def draft_separators(draft: ColumnDraft, held: Contents) -> None:
    """Say which signs join several words in a cell."""
    signs = [sign for sign in ("+", ",", ";", "/", "&") if held.matching(re.escape(sign))]
    signs += ["and"] if held.matching(r"\band\b") else []
    if signs:
        draft.say("separators", signs, "signs between several words in one cell")


class _Speller:
    """Finds for each word of a column what it may mean for one variable."""

    def __init__(self, target: Target, words: Words, *, yes_no: bool) -> None:
        self.target, self.words = target, words
        self.status = target.variable.levels == STATUS_LEVELS
        self.yes_no = yes_no or self.status
        name = target.name if target.variable.side is None else _right(target, words)
        self.spellings = words.spellings.get(name, {})
        self.ambiguous = words.ambiguous.get(name, {})
        self.labels = {plain(level.label): level.code for level in target.variable.levels}
        self.own = {plain(code): code for code in target.words}
        self.marked = False

    def line(self, word: str, draft: ColumnDraft) -> bool:
        """Add the line for a word; whether one was found (or none is needed)."""
        if word in self.target.words:
            return True
        if self._code(word, draft) or self._empty(word, draft):
            return True
        bare = word.strip(" ?")
        if "?" in word and bare in self.ambiguous:
            return _add(draft.codes, Line(word, UNANSWERED, f"{_ASKED}: {', '.join(self.ambiguous[bare])}"))
        if "?" in word and bare and self._known(bare):
            self.marked = True
            return bare in self.target.words or self._code(bare, draft)
        return self._parts(word, draft)

    def _known(self, word: str) -> bool:
        return word in self.target.words or word in self.spellings or word in self.labels or word in self.own

    def _code(self, word: str, draft: ColumnDraft) -> bool:
        if word in self.ambiguous or (self.yes_no and word in self.words.of("asked.yes_no")):
            options = ", ".join(self.ambiguous.get(word, ())) or "yes, no or missing"
            return _add(draft.codes, Line(word, UNANSWERED, f"{_ASKED}: {options}"))
        code = self.spellings.get(word) or self.labels.get(word) or self.own.get(word) or self._yes_no(word)
        return code is not None and _add(draft.codes, Line(word, code, "by the shipped list"))

    def _yes_no(self, word: str) -> str | None:
        if not self.yes_no:
            return None
        if self.status and word in self.words.of("asked.status"):
            return "unknown"
        return next((code for code in ("yes", "no") if word in self.words.of(f"yes_no.{code}")), None)

    def _empty(self, word: str, draft: ColumnDraft) -> bool:
        state = empty_word(word, self.target, self.words)
        return state is not None and _add(draft.empty, Line(word, state, "why there is no value"))

    def _parts(self, word: str, draft: ColumnDraft) -> bool:
        """For flags: every part of the word on its own."""
        parts = [part.strip() for part in re.split(r"[+,;/&]|\band\b", word) if part.strip()]
        if self.target.variable.kind is not Kind.FLAGS or len(parts) < 2:
            return False
        known = [self.line(part, draft) for part in parts]  # every part gets its line, also behind an unknown one
        return all(known)


def empty_word(word: str, target: Target, words: Words) -> str | None:
    """What an empty word may mean for this variable; None when it is none."""
    for state in STATES:
        if word in words.of(f"empty.{state}"):
            return state if state in target.variable.states else MISSING
    return MISSING if word in words.of("empty.words") else None


def _right(target: Target, words: Words) -> str:
    """The name under which both sides' words stand."""
    names = (target.name, *(name for name in words.spellings if target.variable.side is not None))
    return next((name for name in names if name.replace("right", "left") == target.name.replace("right", "left")), "")


def several(count: int, what: str) -> str:
    """`1 word is`, `2 words are`."""
    return f"1 {what} is" if count == 1 else f"{count} {what}s are"


def _add(lines: list[Line], line: Line) -> bool:
    if all(line.key != other.key for other in lines):
        lines.append(line)
    return True
