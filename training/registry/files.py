"""Open a registry, and say in one line why not when it cannot be opened. It is only ever opened for reading."""

from pathlib import Path
from types import MappingProxyType

from riskmodel import tables
from riskmodel.errors import Finding, Severity, TableRefused
from riskmodel.tables.model import LARGEST_BYTES
from training.registry.cells import ERROR_WORDS, Broken, RegistryCell
from training.registry.sheets import Registry, Sheet
from training.registry.workbook import read_workbook

_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
CSV_SHEET = "table"  # a CSV file has no sheet of its own; its name may change from year to year
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")


def read(path: str | Path) -> Registry:
    """Read every sheet of a workbook, or the one table of a CSV file.

    Raises
    ------
    TableRefused
        When there is no such file, it is locked by a password, is an old .xls, unpacks to more than it may, is damaged,
        or holds nothing at all.
    """
    path = Path(path)
    _refuse_compound(path)
    plain = tables.read(path) if path.suffix.lower() in (".csv", ".xlsx") or not path.is_file() else ()
    if not plain:
        raise _refused(path, f"a file ending in {path.suffix or 'nothing'}", "an .xlsx or a .csv file", "type")
    if path.suffix.lower() == ".csv":
        return Registry(path.name, MappingProxyType({CSV_SHEET: _from_table(plain[0])}))
    try:
        return read_workbook(path)
    except (ValueError, KeyError, TypeError, AttributeError, IndexError):
        accepted = "a workbook that a spreadsheet program opened and saved as .xlsx"
        raise _refused(path, "a workbook with a part that cannot be read", accepted, "not_xlsx") from None


def _from_table(table: tables.RawTable) -> Sheet:
    """The grid that a CSV file was, blank lines included, so that rows keep their numbers."""
    numbered = {table.header_row: table.header, **dict(zip(table.numbers, table.rows, strict=True))}
    depth = max(numbered)
    rows = tuple(tuple(_cell(cell) for cell in numbered.get(row, ())) for row in range(1, depth + 1))
    return Sheet(CSV_SHEET, rows)


def _cell(cell: RegistryCell) -> RegistryCell:
    if isinstance(cell, str):
        return Broken(cell.strip()) if cell.strip() in ERROR_WORDS else cell or None
    return cell


def _refuse_compound(path: Path) -> None:
    """Old workbooks and locked ones begin alike; only a locked one has a part of that name."""
    if not path.is_file() or path.stat().st_size > LARGEST_BYTES:
        return
    with path.open("rb") as stream:
        if stream.read(len(_COMPOUND)) != _COMPOUND:
            return
        locked = _ENCRYPTED in stream.read()
    if locked:
        raise _refused(path, "a workbook behind a password", "a copy saved without the password", "password")
    raise _refused(path, "an old .xls workbook", "the same workbook saved as .xlsx", "old_xls")


def _refused(path: Path, found: str, accepted: str, rule: str) -> TableRefused:
    return TableRefused([Finding(path.stem, None, None, found, accepted, Severity.ERROR, rule)])
