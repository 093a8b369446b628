"""A self-assessment after PROBAST+AI: what the run answers by itself, with its grounds, and what is left to judge.

Moons et al., BMJ 2025;388:e082505: two parts, development (16 questions, quality) and evaluation (18, risk of bias), in
four domains, applicability in the first three. The questions here are our own, after those domains; they do not repeat
the tool's, nor its order. A program that judges itself proves nothing: somebody else has to look.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from riskmodel.bundle import Bundle
from riskmodel.documents import card
from riskmodel.documents.blocks import Block, Bullets, Page, Paragraph, Section, Table
from riskmodel.documents.cautions import DEMONSTRATION
from training.report.drafts.grounds import development, evaluation
from training.report.drafts.questions import DEVELOPMENT, EVALUATION


class Answer(Enum):
    """How a question is answered; what the run cannot know is left to people."""

    YES = "yes"
    NO = "no"
    FOR_YOU = "for you to judge"


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a part and domain, its answer, and on what that rests (or what to look at)."""

    part: str
    domain: str
    asks: str
    answer: Answer
    grounds: str


ANSWERS = {None: Answer.FOR_YOU, True: Answer.YES, False: Answer.NO}
DEVELOPED, EVALUATED = "development", "evaluation"
APPLICABILITY = (
    "Are the children of the fit those for whom an estimate is wanted?",
    "Are the predictors measured there as they will be measured here, by then?",
    "Is the outcome, with its horizon, the one that matters for the decision?",
)


def answers(bundle: Bundle) -> tuple[Question, ...]:
    """All 34 questions, development first."""
    summary = card.summarise(bundle)
    parts = (
        (DEVELOPED, DEVELOPMENT, development(bundle, summary)),
        (EVALUATED, EVALUATION, evaluation(bundle, summary)),
    )
    return tuple(
        Question(part, domain, asks, ANSWERS[grounds[key][0]], grounds[key][1])
        for part, questions, grounds in parts
        for key, (domain, asks) in questions.items()
    )


def page(bundle: Bundle) -> Page:
    """The self-assessment as a page."""
    held = answers(bundle)
    return Page(
        title=f"Self-assessment: {bundle.title}",
        subtitle=f"{bundle.id}, after PROBAST+AI (Moons et al., BMJ 2025;388:e082505), questions in our own words",
        band=DEMONSTRATION if bundle.demonstration else None,
        foot=f"{bundle.id} · digest {bundle.digest[:12]}",
        sections=tuple(Section(title, tuple(blocks)) for title, blocks in _sections(bundle, held)),
    )


def _sections(bundle: Bundle, held: tuple[Question, ...]) -> Iterator[tuple[str, Iterator[Block]]]:
    yield "How to use this draft", iter((_use(held),))
    yield "Development: quality", _part(held, DEVELOPED)
    yield "Evaluation: risk of bias", _tried(bundle, held)
    yield (
        "Applicability",
        iter((Paragraph("For you to judge, in each of the first three domains:"), Bullets(APPLICABILITY))),
    )
    yield "Cautions", iter((Bullets(bundle.cautions),))


def _use(held: tuple[Question, ...]) -> Block:
    left = sum(question.answer is Answer.FOR_YOU for question in held)
    against = sum(question.answer is Answer.NO for question in held)
    return Paragraph(
        f"{len(held) - left} of {len(held)} questions are answered from the run, {against} of them against the model; "
        f"{left} are for you to judge. Whoever made the model should not be the one who judges it: hand this to "
        "somebody else, with the tool itself."
    )


def _tried(bundle: Bundle, held: tuple[Question, ...]) -> Iterator[Block]:
    if not bundle.local_checks:
        yield Paragraph(
            "Not yet evaluated on other patients: this part answers what can be said beforehand.", strong=True
        )
    yield from _part(held, EVALUATED)


def _part(held: tuple[Question, ...], part: str) -> Iterator[Block]:
    for domain in dict.fromkeys(question.domain for question in held if question.part == part):
        rows = tuple(
            (question.asks, question.answer.value, question.grounds)
            for question in held
            if (question.part, question.domain) == (part, domain)
        )
        yield Table(domain, ("question", "answer", "on what it rests, or what to look at"), rows)
