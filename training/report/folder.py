"""The folder that a fit writes: all of its files, or none."""

import json
from dataclasses import replace
from pathlib import Path

from riskmodel import bundle as bundles
from riskmodel.documents import html
from training.fitting import Trained
from training.report import validation
from training.report.drafts import drafts
from training.report.results import card_texts
from training.report.whole import put, refuse_existing, texts_into
from training.validation import examine, stamped

__all__ = ["refuse_existing", "write"]


def write(trained: Trained, folder: Path, *, replace_it: bool = False) -> dict[str, Path]:
    """Examine a fit, and write bundle, validation report and card, by way of a sibling folder that is then renamed.

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
    return put(folder, lambda held: _write_all(trained, held), replace_it=replace_it)


def _write_all(trained: Trained, folder: Path) -> dict[str, str]:
    name = trained.bundle.id
    found = examine(trained)
    bundle = stamped(trained.bundle, found, trained.comparison)
    sealed = replace(bundle, digest=bundles.write(bundle, folder / f"{name}.riskmodel.json"))
    numbers = validation.document(trained, found, sealed)
    texts = {
        f"{name}.validation.json": json.dumps(numbers, indent=1, ensure_ascii=False, allow_nan=False) + "\n",
        f"{name}.validation.html": html.to_html(validation.page(trained, found, sealed)),
        **card_texts(sealed),
        **drafts(sealed),
    }
    texts_into(folder, texts)
    return {"model": f"{name}.riskmodel.json", "validation": f"{name}.validation.html", "card": f"{name}.card.html"}
