"""Drafting one column."""

from riskmodel.dictionary.model import Kind, Role
from training.registry.draft.amounts import draft_date, draft_number
from training.registry.draft.contents import Contents
from training.registry.draft.guess import Guess, Guesses
from training.registry.draft.levels import draft_levels, draft_separators
from training.registry.draft.lines import ColumnDraft
from training.registry.draft.several import draft_sides, draft_span, draft_status
from training.registry.mapping.model import UNANSWERED, NotCarried, Reads
from training.registry.targets import Target


def draft_column(header: str, guess: Guess | None, held: Contents, guesses: Guesses, base: int) -> ColumnDraft:
    """Everything that can be said about a column of which this is guessed."""
    draft = ColumnDraft(header)
    if guess is None or (guess.not_carried is None and not guess.to):
        _nothing_guessed(draft, held)
        return draft
    if guess.not_carried is not None:
        draft.say("not_carried", guess.not_carried.value, guess.why)
        return draft
    draft.say("to", guess.to[0] if len(guess.to) == 1 else guess.to, guess.why)
    if guess.reads is not Reads.VALUE:
        draft.say("reads", guess.reads.value)
    target = guesses.targets[guess.to[0]]
    if guess.reads is Reads.BIRTH_DATE or target.dated:
        draft_date(draft, held, target, guesses.words, base)
    else:
        _values(draft, guess, held, guesses, target)
    return draft


def _nothing_guessed(draft: ColumnDraft, held: Contents) -> None:
    if not held.cells:
        draft.say("not_carried", NotCarried.NOT_NEEDED.value, "an empty column")
    elif held.free_text():
        draft.say("not_carried", NotCarried.FREE_TEXT.value, "long texts")
    else:
        check = 'nothing guessed: a variable, or not_carried = "not_needed" in place of this line'
        draft.say("to", UNANSWERED, check)


def _values(draft: ColumnDraft, guess: Guess, held: Contents, guesses: Guesses, target: Target) -> None:
    variable = target.variable
    if guess.reads is Reads.SPAN:
        draft_span(draft, held, guesses, target)
    elif guess.reads is Reads.SIDES:
        draft_sides(draft, held, guesses, target)
    elif guess.reads is Reads.FLAG and guess.flag is not None:
        draft.say("flag", guess.flag)
        draft.say("blank", "no", "an empty cell means no; take the line out if it does not")
        draft_levels(draft, held, target, guesses.words, flag=True)
    elif variable.kind.numeric and not variable.levels:
        draft_number(draft, held, target, guesses.words)
    elif variable.kind is not Kind.TEXT:
        if variable.kind is Kind.FLAGS:
            draft_separators(draft, held)
        draft_levels(draft, draft_status(draft, held, target, guesses.words), target, guesses.words)
    elif variable.role is Role.CENTRE:
        draft.remarks.append("the texts become the centres' codes as they are: short codes, no names of people")
