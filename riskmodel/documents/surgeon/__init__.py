"""The surgeon's page: steps, anchors, rescue, kit and stop rules first, the estimate last."""

from riskmodel.documents import html, markdown, plain
from riskmodel.documents.pdf import typeset
from riskmodel.documents.surgeon.model import Conference, PlanLine, Step, SurgeonPage
from riskmodel.documents.surgeon.page import page as blocks
from riskmodel.documents.surgeon.summarise import compose, summarise

__all__ = [
    "Conference",
    "PlanLine",
    "Step",
    "SurgeonPage",
    "compose",
    "summarise",
    "to_html",
    "to_json",
    "to_markdown",
    "to_pdf",
]


def to_html(page: SurgeonPage) -> str:
    """The page as one self-contained HTML file."""
    return html.render("surgeon.html.jinja", page=page)


def to_markdown(page: SurgeonPage) -> str:
    """The page as Markdown."""
    return markdown.to_markdown(blocks(page))


def to_json(page: SurgeonPage) -> str:
    """The page as JSON."""
    return plain.to_json(page)


def to_pdf(page: SurgeonPage) -> bytes:
    """The page as a tagged PDF, A4 front and back; the same bytes each time.

    Raises
    ------
    DocumentRefused
        When it cannot be typeset.
    """
    return typeset("surgeon.typ", page)
