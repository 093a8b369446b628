"""Which reader a path needs."""

from collections.abc import Callable
from pathlib import Path

from riskmodel.errors import Finding, TableRefused
from riskmodel.tables.gather import fault
from riskmodel.tables.model import LARGEST_BYTES, RawTable
from riskmodel.tables.text import read_csv


def read(path: str | Path) -> tuple[RawTable, ...]:
    """Read every table of a CSV file, an xlsx workbook, a Parquet file, or a folder of CSV files.

    Files are opened for reading only, and may hold at most 64 MiB and 100,000 rows.

    Raises
    ------
    TableRefused
        When nothing can be read; for a folder, with what is wrong in each of its files.
    """
    path = Path(path)
    if path.is_dir():
        return _folder(path)
    read_file = _READERS.get(path.suffix.lower())
    if not path.is_file():
        raise _refused(path, "no such file", "a CSV, xlsx or Parquet file, or a folder of CSV files", "no_file")
    if read_file is None:
        accepted = "a name ending in .csv, .xlsx or .parquet" + _HINTS.get(path.suffix.lower(), "")
        raise _refused(path, f"a file ending in {path.suffix or 'nothing'}", accepted, "unknown_suffix")
    if path.stat().st_size > LARGEST_BYTES:
        raise _refused(path, "a file over 64 MiB", "at most 64 MiB", "too_large")
    try:
        tables = read_file(path)
    except OSError as error:
        raise _refused(path, f"a file that cannot be opened ({error.strerror})", "a readable file", "io") from None
    if not tables:
        raise _refused(path, "an empty file", "a table with a header row", "empty_file")
    return tables


def _folder(path: Path) -> tuple[RawTable, ...]:
    files = sorted(file for file in path.iterdir() if file.suffix.lower() == ".csv")
    if not files:
        raise _refused(path, "a folder without a .csv file", "one CSV file per table", "empty_folder")
    tables: list[RawTable] = []
    findings: list[Finding] = []
    for file in files:
        try:
            tables += read(file)
        except TableRefused as refused:
            findings += refused.findings
    if findings:
        raise TableRefused(findings)
    return tuple(tables)


def _csv(path: Path) -> tuple[RawTable, ...]:
    held = read_csv(path)
    return () if held is None else (held,)


def _workbook(path: Path) -> tuple[RawTable, ...]:
    from riskmodel.tables.workbook import read_workbook  # the spreadsheet library is only loaded for a workbook

    return read_workbook(path)


def _parquet(path: Path) -> tuple[RawTable, ...]:
    from riskmodel.tables.parquet import read_parquet

    held = read_parquet(path)
    return () if held is None else (held,)


def _refused(path: Path, found: str, accepted: str, rule: str) -> TableRefused:
    return TableRefused([fault(path.stem or str(path), None, found, accepted, rule)])


_READERS: dict[str, Callable[[Path], tuple[RawTable, ...]]] = {
    ".csv": _csv,
    ".xlsx": _workbook,
    ".parquet": _parquet,
}
_HINTS = {".xls": "; save the workbook as .xlsx", ".tsv": "; save the table as CSV", ".txt": "; save the table as CSV"}
