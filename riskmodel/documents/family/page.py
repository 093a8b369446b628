"""The sheet as blocks, for Markdown: pictures by their key, lines to write on left out."""

from collections.abc import Iterator

from riskmodel.documents.blocks import Block, Bullets, Page, Paragraph, Section
from riskmodel.documents.family.model import FamilySheet, Part


def page(sheet: FamilySheet) -> Page:
    """The blocks of the sheet."""
    return Page(
        title=sheet.title,
        subtitle=sheet.subtitle,
        band=" ".join(sheet.marks) or None,
        foot=" ".join((*sheet.small, *sheet.foot)),
        sections=tuple(Section(part.title, tuple(_blocks(part))) for part in sheet.parts),
        language=sheet.language,
    )


def _blocks(part: Part) -> Iterator[Block]:
    if part.sentences:
        yield Paragraph(" ".join(part.sentences))
    if part.items:
        yield Bullets(tuple(f"{lead} {rest}".strip() for lead, rest in part.items))
    if part.picture is not None:
        yield Bullets(part.picture.key)
