"""Workbooks (xlsx): looked over before they are opened, so that a small file cannot fill the memory."""

import re
import zipfile
from pathlib import Path
from zlib import error as ZlibError

from python_calamine import CalamineError, CalamineWorkbook

from riskmodel.errors import TableRefused
from riskmodel.tables.gather import fault, table
from riskmodel.tables.model import MOST_ROWS, RawTable

_OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0"  # a compound file: an old .xls, or an xlsx behind a password
MOST_UNPACKED_BYTES = 512 * 2**20
_CHUNK = 2**20
_OVERLAP = 256
# A single cell far away makes a sheet of billions: look for row numbers of six digits and columns of three letters.
_FAR_ROW = re.compile(rb"""<(?:\w+:)?row\b[^>]{0,120}?\br=["'](\d{6,})["']""")
_FAR_COLUMN = re.compile(rb"""\br=["'][A-Z]{3}\d+["']""")


def read_workbook(path: Path) -> tuple[RawTable, ...]:
    """Every sheet that is not empty, hidden ones too, in the workbook's order.

    Formulas are read as the value last computed.

    Raises
    ------
    TableRefused
        When the file is no xlsx, is locked by a password, or unpacks to more than it may.
    """
    _look_over(path)
    try:
        book = CalamineWorkbook.from_path(path)
        sheets = ((name, book.get_sheet_by_name(name)) for name in book.sheet_names)
        tables = [
            table(name, enumerate(sheet.to_python(skip_empty_area=False), start=1), ragged=False)
            for name, sheet in sheets
        ]
    except CalamineError:
        raise _refused(path, "a damaged workbook", "not_xlsx") from None
    return tuple(held for held in tables if held is not None)


def _refused(path: Path, found: str, rule: str) -> TableRefused:
    accepted = "a workbook saved as .xlsx, without a password, of at most 100,000 rows and 702 columns"
    return TableRefused([fault(path.stem, None, found, accepted, rule)])


def _look_over(path: Path) -> None:
    with path.open("rb") as file:
        start = file.read(4)
    if start == _OLD_OR_LOCKED:
        raise _refused(path, "a workbook behind a password, or an old .xls", "locked_or_old")
    left = MOST_UNPACKED_BYTES
    try:
        with zipfile.ZipFile(path) as archive:
            for part in archive.infolist():
                left -= _unpacked(path, archive, part, left)
    except (zipfile.BadZipFile, ZlibError, EOFError, NotImplementedError, RuntimeError):
        raise _refused(path, "a file that is no workbook, or a damaged one", "not_xlsx") from None


def _unpacked(path: Path, archive: zipfile.ZipFile, part: zipfile.ZipInfo, left: int) -> int:
    """True size of one part, counted while unpacking: what the archive says of itself is not relied on."""
    size, tail = 0, b""
    sheet = "worksheets/" in part.filename
    with archive.open(part) as stream:
        while chunk := stream.read(_CHUNK):
            size += len(chunk)
            if size > left:
                raise _refused(path, "a workbook that unpacks to more than 512 MiB", "unpacks_too_large")
            if sheet:
                _refuse_far_cells(path, tail + chunk)
                tail = chunk[-_OVERLAP:]
    return size


def _refuse_far_cells(path: Path, xml: bytes) -> None:
    if any(int(row) > MOST_ROWS + 100 for row in _FAR_ROW.findall(xml)):
        raise _refused(path, "a cell far below row 100,000", "too_many_rows")
    if _FAR_COLUMN.search(xml):
        raise _refused(path, "a cell to the right of column ZZ", "too_many_columns")
