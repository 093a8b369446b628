"""The model card: what a model predicts, for whom, from whom, how well, and what it must not be used for."""

from riskmodel.documents import html, markdown, plain
from riskmodel.documents.card.model import CardSummary
from riskmodel.documents.card.page import page
from riskmodel.documents.card.summarise import summarise
from riskmodel.documents.pdf import typeset

__all__ = ["CardSummary", "page", "summarise", "to_html", "to_json", "to_markdown", "to_pdf"]


def to_html(card: CardSummary) -> str:
    """The card as one self-contained HTML file."""
    return html.to_html(page(card))


def to_markdown(card: CardSummary) -> str:
    """The card as Markdown."""
    return markdown.to_markdown(page(card))


def to_json(card: CardSummary) -> str:
    """The card for machines, numbers in full."""
    return plain.to_json(card)


def to_pdf(card: CardSummary) -> bytes:
    """The card as a tagged PDF; the same bytes each time.

    Raises
    ------
    DocumentRefused
        When it cannot be typeset.
    """
    return typeset("page.typ", page(card))
