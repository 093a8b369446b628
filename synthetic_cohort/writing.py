"""Tables to files, byte for byte the same for the same cohort."""

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path

from synthetic_cohort.world import Floats


def csv_text(table: Mapping[str, Sequence[str]]) -> str:
    """The table as comma-separated text with a header line."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table)
    writer.writerows(zip(*table.values(), strict=True))
    return text.getvalue()


def write_table(table: Mapping[str, Sequence[str]], path: Path) -> None:
    """Write one CSV file, making its folder."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(csv_text(table), encoding="utf-8", newline="")


def write_workbook(table: Mapping[str, Sequence[str]], path: Path) -> None:
    """Write a workbook with the sheet `children`; numbers as numbers."""
    from openpyxl import Workbook  # a training dependency: only this needs it

    book = Workbook(write_only=True)
    sheet = book.create_sheet("children")
    sheet.append(list(table))
    for row in zip(*table.values(), strict=True):
        sheet.append([_cell(text) for text in row])
    path.parent.mkdir(parents=True, exist_ok=True)
    book.save(path)


def _cell(text: str) -> str | float | None:
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        return text


def truth_table(case_ids: Sequence[str], truth: Mapping[str, Floats]) -> dict[str, list[str]]:
    """Keys and true risks, nine digits."""
    return {"case_id": list(case_ids), **{f"{name}_24m": [f"{r:.9g}" for r in v] for name, v in truth.items()}}
