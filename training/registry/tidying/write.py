"""Write a tidied cohort: all or nothing."""

import tempfile
from pathlib import Path

from riskmodel.errors import DocumentRefused
from riskmodel.tables import write_csv
from training.registry.tidying.run import Tidied

CHANGE_COLUMNS = ("sheet", "row", "column", "was", "became", "rule")


def write(tidied: Tidied, folder: Path, changes: Path) -> None:
    """Write one CSV file per table into a folder, and the list of changes, by way of a sibling of the folder.

    The list names rows of the registry and shows what stood in them: it stays where the registry is.

    Raises
    ------
    DocumentRefused
        When the folder is there and holds anything but a cohort.
    OSError
        When one of them cannot be written; what stood in the folder before then still stands.
    """
    if folder.exists() and not (folder.is_dir() and all(path.suffix == ".csv" for path in folder.iterdir())):
        raise DocumentRefused(f"{folder.name} holds more than CSV files and is not written over: name another folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}.") as held:
        sibling, listed = Path(held) / folder.name, Path(held) / "changes"
        sibling.mkdir()
        for name, table in tidied.tables.items():
            write_csv(sibling / f"{name}.csv", table.header, table.rows)
        lines = [(each.sheet, each.row, each.column, each.was, each.became, each.rule) for each in tidied.changes]
        write_csv(listed, CHANGE_COLUMNS, lines)
        listed.replace(changes)
        if folder.exists():
            folder.rename(Path(held) / "before")
        sibling.rename(folder)
