"""Tables to files, byte for byte the same for the same cohort."""

import csv
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from synthetic_cohort.records import Floats
from synthetic_cohort.risk import Risks

if TYPE_CHECKING:
    from openpyxl import Workbook


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


def write_folder(tables: Mapping[str, Mapping[str, Sequence[str]]], folder: Path) -> None:
    """Write one CSV file per table."""
    for name, table in tables.items():
        write_table(table, folder / f"{name}.csv")


def write_workbook(tables: Mapping[str, Mapping[str, Sequence[str]]], path: Path) -> None:
    """Write a workbook with one sheet per table, numbers as numbers."""
    from openpyxl import Workbook  # a training dependency, needed here only

    book = Workbook(write_only=True)
    for name, table in tables.items():
        sheet = book.create_sheet(name)
        sheet.append(list(table))
        for row in zip(*table.values(), strict=True):
            sheet.append([_cell(text) for text in row])
    save(book, path)


def save(book: "Workbook", path: Path) -> None:
    """Save a workbook without the hour of writing, so that the same tables give the same bytes."""
    held = io.BytesIO()
    book.save(held)
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(held) as made, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name in made.namelist():
            content = made.read(name)
            if name == "docProps/core.xml":
                content = re.sub(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*", rb"\g<1>2026-01-01T00:00:00Z", content)
            out.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)


def _cell(text: str) -> str | float | None:
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        return text


def truth_table(case_ids: Sequence[str], everything: Risks, told: Risks) -> dict[str, list[str]]:
    """Keys and true risks within 24 months, to nine digits."""
    columns = {
        "fixation_failure_24m_everything": everything.fixation_failure,
        "fixation_failure_24m_told": told.fixation_failure,
        "revision_24m_everything": everything.revision,
        "revision_24m_told": told.revision,
    }
    return {"case_id": list(case_ids), **{name: _nine(risk) for name, risk in columns.items()}}


def _nine(values: Floats) -> list[str]:
    return [f"{value:.9g}" for value in values.tolist()]
