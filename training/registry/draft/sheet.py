"""Drafting one sheet."""

from collections.abc import Iterator, Sequence

from riskmodel.dictionary.expand import DATE, STATUS_LEVELS
from riskmodel.dictionary.model import Role
from training.registry.cells import is_number, plain, text_of
from training.registry.draft.column import draft_column
from training.registry.draft.contents import Contents, contents
from training.registry.draft.guess import Guess, Guesses
from training.registry.draft.layout import Layout
from training.registry.draft.levels import several
from training.registry.draft.lines import ColumnDraft, Line
from training.registry.mapping.marks import CHECK
from training.registry.mapping.model import UNANSWERED, NotCarried, Reads
from training.registry.sheets import Sheet, headers

_KEY_WIDTH = 12


class SheetDraft:
    """One sheet with its layout, and the guess and contents of each of its columns."""

    def __init__(self, sheet: Sheet, layout: Layout, guesses: Guesses) -> None:
        self.sheet, self.layout, self.guesses = sheet, layout, guesses
        self.names = headers(sheet, layout.header_rows)
        rows = [row for row in range(max(layout.header_rows) + 1, len(sheet.rows) + 1) if not self._skipped(row)]
        self.contents = [contents(sheet, place, rows) for place in range(1, len(self.names) + 1)]
        self.kind_column = next((name for name in self.names if plain(name) in guesses.words.later.headers), None)
        self.guessed = self._guesses()

    def text(self, base: int, *, first: bool) -> list[str]:
        """The sheet's part of the map; `first`: no sheet of children came before it."""
        operations = self._has_operations()
        lines = [Line("name", self.sheet.name), Line("becomes", "children", "what a row is of")]
        lines.append(Line("header_rows", self.layout.header_rows, "rows of the column names"))
        if operations:
            lines.append(Line("rows", "operations", "keys stand more than once: every row is an operation"))
        elif not first and not self._dated():
            lines.append(Line("rows", "further_columns", "no date of an operation: more about the same children"))
        lines += [*self._skip(), *self._key_lines(), *self._merged()]
        out = ["[[sheet]]", *(line.text() for line in lines), *self._always(first=first)]
        out += self._later() if operations else []
        for column in self._columns(base):
            out += ["", *column.text()]
        return out

    def _columns(self, base: int) -> Iterator[ColumnDraft]:
        for name, guess, held in zip(self.names, self.guessed, self.contents, strict=True):
            nameless = name.startswith("(column") and not held.cells
            if not nameless and not (name == self.kind_column and self._has_operations()):
                draft = draft_column(name, guess, held, self.guesses, base)
                self._status_of(guess, draft)
                yield draft

    def _status_of(self, guess: Guess | None, draft: ColumnDraft) -> None:
        """For the date of an event without a column for the event itself: what a date, and none, mean."""
        event = guess.to[0].removesuffix(DATE) if guess is not None and guess.to else ""
        carried = {name for other in self.guessed if other is not None for name in other.to}
        status = self.guesses.targets.get(event)
        if status is not None and status.variable.levels == STATUS_LEVELS and event not in carried:
            draft.assign("when_filled", event, "yes", "a date says that it happened")
            draft.assign("when_empty", event, UNANSWERED, '"no", "unknown", or no such line: what an empty cell means')

    def _guesses(self) -> list[Guess | None]:
        """A guess for each column; a second one for the same variable is left open, and somebody must be the key."""
        out: list[Guess | None] = []
        for name in self.names:
            guess = self.guesses.of(name)
            out.append(None if guess is not None and _taken(guess, out) else guess)
        key = self.guesses.key
        if key is not None and all(guess is None or key.name not in guess.to for guess in out):
            place = self._key_place(out)
            if place is not None:
                out[place] = Guess((key.name,), why="the first column that can tell the children apart")
        return out

    def _key_place(self, guesses: Sequence[Guess | None]) -> int | None:
        """The first identifier of numbers or codes."""
        for place, (guess, held) in enumerate(zip(guesses, self.contents, strict=True)):
            named = guess is not None and guess.not_carried is NotCarried.IDENTIFIER
            if named and held.cells and all(_is_code(text_of(cell)) for _, cell in held.cells):
                return place
        return None

    def _key(self) -> tuple[str, Contents] | None:
        key = self.guesses.key
        held = zip(self.names, self.guessed, self.contents, strict=True)
        return next(((name, cells) for name, guess, cells in held if key and guess and key.name in guess.to), None)

    def _has_operations(self) -> bool:
        key = self._key()
        if key is None or not self._dated():
            return False
        texts = [text_of(cell) for _, cell in key[1].cells]
        return len(set(texts)) < len(texts)

    def _dated(self) -> bool:
        return any(
            guess is not None and any(self.guesses.targets[name].variable.role is Role.DATE for name in guess.to)
            for guess in self.guessed
        )

    def _skipped(self, row: int) -> bool:
        first = next((text for cell in self.sheet.rows[row - 1] if (text := text_of(cell))), "")
        return plain(first) in self.layout.skip_words

    def _skip(self) -> Iterator[Line]:
        if self.layout.skip_words:
            yield Line("skip_words", self.layout.skip_words, "rows that begin with one of these are no children")

    def _key_lines(self) -> Iterator[Line]:
        key = self._key()
        if key is None:
            return
        held = key[1]
        yield Line("keys", "new", '"as_written" only if the keys are codes that nobody outside can trace back')
        texts = [text_of(cell) for _, cell in held.cells]
        zeros = [text for text in texts if text.startswith("0") and text.isdigit()]
        if zeros and held.count(is_number):
            yield Line("key_digits", max(map(len, zeros)), "zeros before some numbers are lost: put back")

    def _merged(self) -> Iterator[Line]:
        start = max(self.layout.header_rows)
        places = {left for top, bottom, left, right in self.sheet.merged if bottom > start and left == right}
        names = [self.names[place - 1] for place in sorted(places) if place <= len(self.names)]
        if names:
            yield Line("fill_merged", names, "merged cells: the value holds for every row of the block")

    def _always(self, *, first: bool) -> list[str]:
        centre = self.guesses.centre
        carried = {name for guess in self.guessed if guess is not None for name in guess.to}
        if not first or centre is None or centre.name in carried:
            return []
        return ["[sheet.always]", Line(centre.name, UNANSWERED, "a short code for the department").text()]

    def _later(self) -> list[str]:
        later = self.guesses.words.later
        out = ["[sheet.later_operations]"]
        if self.kind_column is not None:
            out.append(Line("column", self.kind_column, "says what kind of operation a row is").text())
        elif later.every is not None:
            out.append(Line("every", later.every, "what every later row is").text())
        if later.earlier_in is not None:
            out.append(Line("earlier_in", later.earlier_in, "counts operations before the index").text())
        check = '"no" only if every return to theatre is in this sheet, else "unknown"'
        return [*out, Line("without", UNANSWERED, check).text(), *self._later_codes()]

    def _later_codes(self) -> list[str]:
        if self.kind_column is None:
            return []
        held, later = self.contents[self.names.index(self.kind_column)], self.guesses.words.later
        known = [word for word in held.texts if word in later.codes]
        unknown = [word for word in held.texts if word not in later.codes]
        out = ["[sheet.later_operations.codes]"]
        if unknown:
            out.append(f"# {several(len(unknown), 'word')} in no list: a line for each; {held.rows(unknown)}")
        return out + [_later_line(word, later.codes[word]) for word in known]


def _is_code(text: str) -> bool:
    """Whether a text can be a number or a code: short, with a digit."""
    return len(text) < _KEY_WIDTH and any(sign.isdigit() for sign in text)


def _taken(guess: Guess, others: Sequence[Guess | None]) -> bool:
    """Whether another column is guessed to be the same variable already."""
    if not guess.to or guess.reads is Reads.FLAG:
        return False
    return any(other is not None and other.to == guess.to and other.reads is guess.reads for other in others)


def _later_line(word: str, meant: str) -> str:
    variable, equals, code = meant.partition("=")
    if not equals:
        return Line(word, meant, "by the shipped list").text()
    plain_line = Line(word, code).text()
    key = plain_line.rpartition(" = ")[0]
    return f'{key} = {{ {variable} = "{code}" }}  {CHECK}: by the shipped list'


def left_out(sheet: Sheet, why: str) -> list[str]:
    """The part of the map for a sheet that stays out."""
    return ["[[sheet]]", Line("name", sheet.name).text(), Line(key="leave_out", value=True, check=why).text()]
