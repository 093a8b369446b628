"""A folder of results: all of its files, or none."""

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from riskmodel.errors import DocumentRefused


def put(folder: Path, fill: Callable[[Path], Mapping[str, str]], *, replace_it: bool = False) -> dict[str, Path]:
    """Fill a folder by way of a sibling that is then renamed.

    Parameters
    ----------
    fill : writes into the folder that it is given, and returns what each file is -> its name

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
        names = fill(sibling)
        refuse_existing(folder, replace_it=replace_it)  # it may have come meanwhile
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


def texts_into(folder: Path, texts: Mapping[str, str]) -> None:
    """Write each text (UTF-8) under its name."""
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
