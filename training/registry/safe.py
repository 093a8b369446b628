"""No result is written over what it was made from, nor over an earlier one unasked."""

from pathlib import Path

from riskmodel.errors import DocumentRefused


def refuse_same(source: Path, target: Path) -> None:
    """The file that is read is never written to.

    Raises
    ------
    DocumentRefused
        When both paths lead to the same file, or the target is a folder with the source in it.
    """
    read, written = source.resolve(), target.resolve()
    if read == written or written in read.parents:
        raise DocumentRefused(f"{target.name} is, or holds, a file that is only read: name another")


def refuse_existing(path: Path, *, replace: bool) -> None:
    """An earlier result is replaced on request only.

    Raises
    ------
    DocumentRefused
        When the path is there and `replace` is not said.
    """
    if path.exists() and not replace:
        raise DocumentRefused(f"{path.name} is there already: choose another name, or say --replace")
