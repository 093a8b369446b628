"""Write a tidied cohort: all or nothing, and never over the registry."""

import shutil
from pathlib import Path

from riskmodel.errors import DocumentRefused
from riskmodel.tables import write_csv
from training.registry.tidying.notes import Change
from training.registry.tidying.run import Tidied

CHANGE_COLUMNS = ("sheet", "row", "column", "was", "became", "rule")


def write(tidied: Tidied, folder: Path, changes: Path, *, replace: bool = False) -> None:
    """Write one CSV file per table into a new folder, and the list of changes beside it.

    The list names rows of the registry and shows what stood in them: it stays where the registry is.

    Raises
    ------
    DocumentRefused
        When one of them is there already and `replace` is not set, or the folder holds anything but a cohort.
    """
    for path in (folder, changes):
        if path.exists() and not replace:
            raise DocumentRefused(f"{path.name} is there already; --replace writes over it")
    if folder.exists() and not (folder.is_dir() and all(path.suffix == ".csv" for path in folder.iterdir())):
        raise DocumentRefused(f"{folder.name} holds more than CSV files and is not written over; name another folder")
    part = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(part, ignore_errors=True)
    part.mkdir(parents=True)
    try:
        for name, table in tidied.tables.items():
            write_csv(part / f"{name}.csv", table.header, table.rows)
        _write_changes(tidied.changes, changes)
        if folder.exists():
            shutil.rmtree(folder)
        part.rename(folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _write_changes(changes: tuple[Change, ...], path: Path) -> None:
    rows = [(held.sheet, held.row, held.column, held.was, held.became, held.rule) for held in changes]
    part = path.with_name(f".{path.name}.part")
    write_csv(part, CHANGE_COLUMNS, rows)
    part.replace(path)
