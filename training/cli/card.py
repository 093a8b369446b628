"""`python -m training card`: the model card of a bundle."""

from pathlib import Path

import click

from riskmodel import bundle as bundles
from riskmodel.cli.files import write_whole
from riskmodel.documents import card

TEXTS = {".html": card.to_html, ".md": card.to_markdown, ".json": card.to_json}


@click.command("card")
@click.argument("bundle", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="FILE.html|.md|.json|.pdf")
def command(*, bundle: Path, out: Path) -> None:
    """Write the card of the model in BUNDLE; the kind of file follows from its ending."""
    kind = out.suffix.lower()
    if kind not in {*TEXTS, ".pdf"}:
        raise click.UsageError("--out must end in .html, .md, .json or .pdf")
    summary = card.summarise(bundles.read(bundle))
    write_whole(out, card.to_pdf(summary) if kind == ".pdf" else TEXTS[kind](summary))
