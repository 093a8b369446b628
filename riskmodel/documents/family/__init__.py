"""The family's sheet: what may be said to parents and the child, in plain numbers, to take home."""

from riskmodel.documents import html, markdown, plain
from riskmodel.documents.family.model import FamilySheet
from riskmodel.documents.family.options import Avoid, Choice, FamilyOptions
from riskmodel.documents.family.page import page
from riskmodel.documents.family.summarise import summarise
from riskmodel.documents.pdf import typeset

__all__ = [
    "Avoid",
    "Choice",
    "FamilyOptions",
    "FamilySheet",
    "summarise",
    "to_html",
    "to_json",
    "to_markdown",
    "to_pdf",
]


def to_html(sheet: FamilySheet) -> str:
    """The sheet as one self-contained HTML file."""
    return html.render("family.html.jinja", sheet=sheet)


def to_markdown(sheet: FamilySheet) -> str:
    """The sheet as Markdown; the squares by their key."""
    return markdown.to_markdown(page(sheet))


def to_json(sheet: FamilySheet) -> str:
    """The sheet as JSON."""
    return plain.to_json(sheet)


def to_pdf(sheet: FamilySheet) -> bytes:
    """The sheet as a tagged PDF of one or two A4 pages; the same bytes each time.

    Raises
    ------
    DocumentRefused
        When it cannot be typeset.
    """
    return typeset("family.typ", sheet)
