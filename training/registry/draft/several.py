"""Drafting columns whose cells hold several things: two ends, two sides, a status and its year."""

import re

from training.registry.cells import plain, text_of
from training.registry.draft.amounts import draft_number
from training.registry.draft.contents import Contents
from training.registry.draft.guess import Guesses
from training.registry.draft.levels import draft_levels, empty_word, several
from training.registry.draft.lines import ColumnDraft, Line
from training.registry.mapping.model import UNANSWERED, ColumnRule, SideRule
from training.registry.reading.cell import IN_CELL, YEAR
from training.registry.reading.doubt import Doubt
from training.registry.reading.sides import split_sides
from training.registry.reading.spans import read_span
from training.registry.targets import Target
from training.registry.words import Words

_APART = re.compile(r"-|/|\bto\b")


def draft_span(draft: ColumnDraft, held: Contents, guesses: Guesses, target: Target) -> None:
    """Spellings of the ends that stand in the column, the letter for bare numbers, and what is no span."""
    span = next(each for each in guesses.words.spans if target.name == each.to[0])
    if held.days:
        draft.say("turned_dates", UNANSWERED, f'{held.days} cells became dates: "day_first" or "month_first"')
    if span.bare and (held.days or held.matching(r"(?:^|[-/ ])\d")):
        draft.say("bare", span.bare, "letter before levels written as bare numbers")
    known = guesses.words.spellings.get(target.name, {})
    parts = {part.strip() for text in held.typed for part in _APART.split(text)}
    draft.codes += [Line(word, known[word], "by the shipped list") for word in sorted(parts & set(known))]
    _unread_spans(draft, held, guesses.words, target)


def _unread_spans(draft: ColumnDraft, held: Contents, words: Words, target: Target) -> None:
    """Empty words, and how many cells are no two levels."""
    spelt = {line.key: (("", str(line.value)),) for line in draft.codes}
    bare = next((str(line.value) for line in draft.lines if line.key == "bare"), None)
    unknown = []
    for word in held.texts:
        state = empty_word(word, target, words)
        if state is not None:
            draft.empty.append(Line(word, state, "why there is no value"))
            continue
        try:
            read_span(word, ColumnRule(draft.header, codes=spelt, bare=bare), target.variable.codes)
        except Doubt:
            unknown.append(word)
    if unknown:
        draft.remarks.append(f"{several(len(unknown), 'word')} not two levels; {held.rows(unknown)}")


def draft_sides(draft: ColumnDraft, held: Contents, guesses: Guesses, target: Target) -> None:
    """Words for both sides, what a cell without a side means, and the values of the sides."""
    words = guesses.words
    both = [word for word in sorted(words.of("sides.both")) if any(text.startswith(word) for text in held.typed)]
    if both:
        draft.say("both", both, "words for both sides")
    draft.remarks.append("R, L, right, left, rt and lt in a cell are the child's right and left")
    parts, unmarked, named = _parts(held, SideRule(both=tuple(both)))
    if unmarked:
        draft.say("unmarked", UNANSWERED, f'{unmarked} cells name no side: "both", "right_left" or "left_right"')
    if named:
        draft.say("named", UNANSWERED, f"{named} cells name a side and nothing else: the code that it then has")
        draft.say("not_named", UNANSWERED, "the code of the other side; or no such line, and it is missing")
    if target.variable.levels:
        draft_levels(draft, parts, target, words)
    else:
        draft_number(draft, parts, target, words)


def _parts(held: Contents, rule: SideRule) -> tuple[Contents, int, int]:
    """What is said of single sides, and how many cells name no side, or a side alone."""
    parts: list[tuple[int, str]] = []
    unmarked = named = 0
    for row, cell in held.cells:
        try:
            sides = split_sides(text_of(cell), rule)
        except Doubt:
            unmarked += 1
            parts.append((row, text_of(cell)))
            continue
        named += "" in sides.values()
        parts += [(row, part) for part in sides.values() if part]
    return Contents(tuple(parts)), unmarked, named


def draft_status(draft: ColumnDraft, held: Contents, target: Target, words: Words) -> Contents:
    """For a status written with its year: where the year goes. The contents without it."""
    rule = words.status.get(target.name)
    if rule is None or not held.matching(YEAR.pattern):
        return held
    draft.say("as_of", IN_CELL, "a year in the cell is that in which the status was true")
    draft.say("as_of_to", rule[0], "the contact that it vouches for, if none is later")
    draft.say("final", rule[1], "after these nobody is seen again")
    draft.say("year_only", "middle", "the year's 1 July")
    return Contents(tuple((row, YEAR.sub(" ", plain(text_of(cell))).strip()) for row, cell in held.cells))
