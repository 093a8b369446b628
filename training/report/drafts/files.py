"""The drafts as files, beside the card."""

from riskmodel.bundle import Bundle
from riskmodel.documents import html, markdown
from training.report.drafts import probast, tripod


def drafts(bundle: Bundle) -> dict[str, str]:
    """File name -> text: reporting draft and self-assessment, each as Markdown and as HTML."""
    pages = {"reporting": tripod.page(bundle), "assessment": probast.page(bundle)}
    return {
        f"{bundle.id}.{name}.{ending}": render(page)
        for name, page in pages.items()
        for ending, render in (("md", markdown.to_markdown), ("html", html.to_html))
    }
