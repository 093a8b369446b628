"""Results on disk: one line of CSV per repeat, so that a run can be stopped at any moment and gone on."""

import csv
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).parents[2] / "docs" / "recovery"
KEY: Final = ("setting", "seed")

Value = float | int | bool | str | None
Row = Mapping[str, Value]


def path(stage: str, folder: Path = FOLDER) -> Path:
    """The file of a stage."""
    return folder / f"{stage}.csv"


def rows(file: Path) -> list[dict[str, str]]:
    """The rows written so far; none if there is no file."""
    if not file.is_file():
        return []
    with file.open(encoding="utf-8", newline="") as held:
        return list(csv.DictReader(held))


def done(file: Path) -> set[tuple[str, int]]:
    """Setting and seed of each repeat written so far."""
    return {(row["setting"], int(row["seed"])) for row in rows(file)}


def append(file: Path, row: Row) -> None:
    """Add one row, with the header in front if it is the first."""
    line = ",".join(_text(value) for value in row.values()) + "\n"
    if not file.is_file():
        file.parent.mkdir(parents=True, exist_ok=True)
        line = ",".join(row) + "\n" + line
    held = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    try:
        os.write(held, line.encode())
        os.fsync(held)
    finally:
        os.close(held)


def settle(file: Path) -> None:
    """Cut a line that a crash left unfinished, and put the rows in order of setting and seed."""
    if not file.is_file():
        return
    whole, _, _ = file.read_text(encoding="utf-8").rpartition("\n")
    header, *lines = whole.split("\n")
    lines.sort(key=lambda line: (line.split(",", 2)[0], int(line.split(",", 2)[1])))
    beside = file.with_suffix(".part")
    beside.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8", newline="")
    beside.replace(file)


def _text(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(int(value))
    return f"{value:.5g}" if isinstance(value, float) else str(value)
