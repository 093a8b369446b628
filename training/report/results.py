"""What a command that makes a bundle of another writes: the bundle, its report, its card and its reporting drafts."""

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from riskmodel import bundle as bundles
from riskmodel.bundle import Bundle
from riskmodel.documents import card, html, markdown
from riskmodel.documents.blocks import Page
from training.report.drafts import drafts
from training.report.whole import texts_into


def write(
    folder: Path,
    bundle: Bundle,
    kind: str,
    document: Callable[[Bundle], Mapping[str, Any]],
    page: Callable[[Bundle], Page],
) -> dict[str, str]:
    """Write everything under the name of the bundle.

    Parameters
    ----------
    kind
        What the report is of, in its file names: NAME.`kind`.html.
    document, page
        The report as JSON and as a page, from the bundle with its digest.

    Returns
    -------
    dict
        What each file is -> its name.

    Raises
    ------
    OSError
        When the folder cannot be written.
    """
    name = bundle.id
    sealed = replace(bundle, digest=bundles.write(bundle, folder / f"{name}.riskmodel.json"))
    texts = {f"{name}.{kind}.json": json.dumps(document(sealed), indent=1, ensure_ascii=False, allow_nan=False) + "\n"}
    told = page(sealed)
    texts |= {f"{name}.{kind}.md": markdown.to_markdown(told), f"{name}.{kind}.html": html.to_html(told)}
    texts_into(folder, {**texts, **card_texts(sealed), **drafts(sealed)})
    return {"model": f"{name}.riskmodel.json", kind: f"{name}.{kind}.html", "card": f"{name}.card.html"}


def card_texts(sealed: Bundle) -> dict[str, str]:
    """The card in its three renderings, by file name."""
    summary = card.summarise(sealed)
    made = {"json": card.to_json(summary), "md": card.to_markdown(summary), "html": card.to_html(summary)}
    return {f"{sealed.id}.card.{ending}": text for ending, text in made.items()}
