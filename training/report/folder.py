"""The folder that a fit writes: all of its files, or none."""

import json
import tempfile
from dataclasses import replace
from pathlib import Path

from riskmodel import bundle as bundles
from riskmodel.documents import card, html
from riskmodel.errors import DocumentRefused
from training.fitting import Trained
from training.report import validation


def write(trained: Trained, folder: Path, *, replace_it: bool = False) -> dict[str, Path]:
    """Write bundle, validation summary and card of a fit, by way of a sibling folder that is then renamed.

    Returns
    -------
    dict
        What each file is -> its path.

    Raises
    ------
    DocumentRefused
        When the folder is there already and is not to be replaced.
    OSError
        When it cannot be written; what stood there before then still stands.
    """
    refuse_existing(folder, replace_it=replace_it)
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}.") as held:
        sibling = Path(held) / folder.name
        sibling.mkdir()
        names = _write_all(trained, sibling)
        if folder.exists():
            folder.rename(Path(held) / "before")
        sibling.rename(folder)
    return {what: folder / name for what, name in names.items()}


def refuse_existing(folder: Path, *, replace_it: bool) -> None:
    """An earlier result is replaced on request only.

    Raises
    ------
    DocumentRefused
        When the folder is there and `replace_it` is not said.
    """
    if folder.exists() and not replace_it:
        raise DocumentRefused(f"{folder.name} is there already: choose another folder, or say --replace")


def _write_all(trained: Trained, folder: Path) -> dict[str, str]:
    name = trained.bundle.id
    digest = bundles.write(trained.bundle, folder / f"{name}.riskmodel.json")
    sealed = replace(trained.bundle, digest=digest)
    numbers = validation.document(trained, sealed)
    summary = card.summarise(sealed)
    texts = {
        f"{name}.validation.json": json.dumps(numbers, indent=1, ensure_ascii=False, allow_nan=False) + "\n",
        f"{name}.validation.html": html.to_html(validation.page(trained, numbers)),
        f"{name}.card.json": card.to_json(summary),
        f"{name}.card.md": card.to_markdown(summary),
        f"{name}.card.html": card.to_html(summary),
    }
    for file, text in texts.items():
        (folder / file).write_text(text, encoding="utf-8", newline="")
    return {"model": f"{name}.riskmodel.json", "validation": f"{name}.validation.html", "card": f"{name}.card.html"}
