"""Tables are read cell by cell; what cannot be read is refused in words, all at once."""

import io
import os
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from riskmodel import tables
from riskmodel.errors import TableRefused
from riskmodel.tables import model, workbook

CELLS = (("a", "b"), ("1", "x"), ("2", "y, z"))


def _file(folder: Path, raw: bytes | str, name: str = "children.csv") -> Path:
    path = folder / name
    path.write_bytes(raw.encode() if isinstance(raw, str) else raw)
    return path


def _refused(path: Path) -> str:
    with pytest.raises(TableRefused) as refused:
        tables.read(path)
    return str(refused.value)


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("delimiter", [",", ";"])
def test_commas_semicolons_marks_and_line_ends_make_no_difference(
    mark: bytes, end: str, delimiter: str, tmp_path: Path
) -> None:
    text = end.join(delimiter.join(f'"{cell}"' if "," in cell else cell for cell in row) for row in CELLS)
    (held,) = tables.read(_file(tmp_path, mark + text.encode()))
    assert held.header == CELLS[0]
    assert held.rows == CELLS[1:]


def test_mixed_line_ends_are_lines_all_the_same(tmp_path: Path) -> None:
    (held,) = tables.read(_file(tmp_path, "a,b\r\n1,2\n3,4\r5,6"))
    assert held.rows == (("1", "2"), ("3", "4"), ("5", "6"))
    assert held.numbers == (2, 3, 4)


def test_rows_are_counted_as_a_spreadsheet_counts_them(tmp_path: Path) -> None:
    (held,) = tables.read(_file(tmp_path, 'a,b\n1,"two\nlines"\n\n,\n5,6\n'))
    assert held.header_row == 1
    assert held.numbers == (2, 5)


def test_a_blank_start_moves_the_header_and_nameless_empty_columns_go(tmp_path: Path) -> None:
    (held,) = tables.read(_file(tmp_path, "\n,,\na,b,\n1,2,\n"))
    assert (held.header, held.header_row, held.numbers) == (("a", "b"), 3, (4,))


def test_a_nameless_column_with_values_stays(tmp_path: Path) -> None:
    (held,) = tables.read(_file(tmp_path, "a,\n1,2\n"))
    assert held.header == ("a", "")


def test_rows_that_do_not_fit_the_header_are_all_named(tmp_path: Path) -> None:
    told = _refused(_file(tmp_path, "a,b\n1,2\n3,4,5\n6\n7,8\n"))
    assert "row 3: found 3 cells; a decimal comma" in told
    assert "row 4: found 1 cells" in told
    assert "2 cells, as many as the header" in told


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "an empty file"),
        (b"\n\n,\n", "an empty file"),
        (b"a,b\n1,caf\xe9\n", "row 2: found bytes that are not UTF-8"),
        ("a,b\n1,2\n".encode("utf-16"), "UTF-16"),
        (b"a,b\n1,\0\n", "NUL"),
        (b'a,b\n1,"open\n', "no CSV"),
    ],
)
def test_text_that_is_no_table_is_refused(raw: bytes, words: str, tmp_path: Path) -> None:
    assert words in _refused(_file(tmp_path, raw))


def test_missing_and_strange_files_are_refused(tmp_path: Path) -> None:
    assert "no such file" in _refused(tmp_path / "no.csv")
    assert "save the workbook as .xlsx" in _refused(_file(tmp_path, b"x", "old.xls"))
    assert "ending in .docx" in _refused(_file(tmp_path, b"x", "a.docx"))
    (tmp_path / "empty").mkdir()
    assert "one CSV file per table" in _refused(tmp_path / "empty")


def test_too_many_rows_and_bytes_are_refused(tmp_path: Path) -> None:
    assert (model.LARGEST_BYTES, model.MOST_ROWS) == (64 * 2**20, 100_000)
    rows = "a\n" + "1\n" * 100_001
    assert "at most 100,000 rows" in _refused(_file(tmp_path, rows))
    (held,) = tables.read(_file(tmp_path, rows[:-2]))
    assert len(held) == 100_000
    big = tmp_path / "big.csv"
    with big.open("wb") as stream:
        os.truncate(stream.fileno(), 64 * 2**20 + 1)
    assert "at most 64 MiB" in _refused(big)


def test_a_folder_is_its_csv_files_and_says_what_is_wrong_with_each(tmp_path: Path) -> None:
    _file(tmp_path, "a\n1\n", "screws.csv")
    _file(tmp_path, "b\n2\n", "children.csv")
    _file(tmp_path, "ignored", "notes.txt")
    assert [held.sheet for held in tables.read(tmp_path)] == ["children", "screws"]
    _file(tmp_path, b"\xff", "events.csv")
    _file(tmp_path, "a,b\n1\n", "sides.csv")
    told = _refused(tmp_path)
    assert "events" in told
    assert "sides" in told


def _workbook(folder: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "children"
    sheet.append([])
    sheet.append(["key", "n", "day", "moment", "told", "blank"])
    sheet.append(["a", 3, date(2024, 2, 29), datetime(2024, 2, 29, 13, 5), True, None])
    sheet.append([None] * 6)
    sheet.append(["b", 2.5, None, None, False, ""])
    book.create_sheet("empty")
    hidden = book.create_sheet("screws")
    hidden.append(["key"])
    hidden.sheet_state = "hidden"
    path = folder / "registry.xlsx"
    book.save(path)
    return path


def test_a_workbook_gives_every_sheet_that_holds_anything(tmp_path: Path) -> None:
    children, screws = tables.read(_workbook(tmp_path))
    assert (children.sheet, children.header_row, children.numbers) == ("children", 2, (3, 5))
    assert [tables.as_text(cell) for cell in children.rows[0]] == [
        "a",
        "3",
        "2024-02-29",
        "2024-02-29 13:05:00",
        "yes",
        "",
    ]
    assert [tables.as_text(cell) for cell in children.rows[1]] == ["b", "2.5", "", "", "no", ""]
    assert (screws.sheet, screws.header, len(screws)) == ("screws", ("key",), 0)


def test_reading_leaves_a_workbook_as_it_was(tmp_path: Path) -> None:
    path = _workbook(tmp_path)
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    tables.read(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "behind a password, or an old .xls"),
        (b"PK\x03\x04 and then nothing", "no workbook"),
        (b"", "no workbook"),
    ],
)
def test_a_file_that_is_no_workbook_is_refused(raw: bytes, words: str, tmp_path: Path) -> None:
    assert words in _refused(_file(tmp_path, raw, "registry.xlsx"))


def test_a_zip_that_is_no_workbook_is_refused(tmp_path: Path) -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("readme.txt", "no sheets here")
    assert "damaged workbook" in _refused(_file(tmp_path, held.getvalue(), "registry.xlsx"))


def _with_sheet(path: Path, xml: bytes) -> None:
    """Replace the first sheet's XML."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = xml
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, raw in parts.items():
            archive.writestr(name, raw)


def test_a_small_file_that_unpacks_to_much_is_refused_before_it_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert workbook.MOST_UNPACKED_BYTES == 512 * 2**20
    monkeypatch.setattr(workbook, "MOST_UNPACKED_BYTES", 16 * 2**20)
    path = _workbook(tmp_path)
    _with_sheet(path, b" " * (17 * 2**20))
    assert path.stat().st_size < 2**16
    assert "unpacks to more than 512 MiB" in _refused(path)


@pytest.mark.parametrize(("cell", "words"), [("A1048576", "row 100,000"), ("XFD2", "column ZZ")])
def test_one_cell_far_away_is_refused(cell: str, words: str, tmp_path: Path) -> None:
    """Rows to 1,048,576 and columns to XFD are what a sheet may have (ECMA-376, SpreadsheetML)."""
    path = _workbook(tmp_path)
    row = cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    _with_sheet(
        path,
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        + f'<row r="{row}"><c r="{cell}"><v>1</v></c></row></sheetData></worksheet>'.encode(),
    )
    assert words in _refused(path)


def test_a_workbook_of_empty_sheets_is_an_empty_file(tmp_path: Path) -> None:
    path = tmp_path / "empty.xlsx"
    openpyxl.Workbook().save(path)
    assert workbook.read_workbook(path) == ()
    assert "an empty file" in _refused(path)


def test_parquet_is_read_where_pyarrow_is_installed(tmp_path: Path) -> None:
    path = tmp_path / "children.parquet"
    held = pyarrow.table({"key": ["a", "b"], "n": [1, None], "day": [date(2024, 1, 2), None], "told": [True, False]})
    pyarrow.parquet.write_table(held, path)
    (table,) = tables.read(path)
    assert table.header == ("key", "n", "day", "told")
    assert [[tables.as_text(cell) for cell in row] for row in table.rows] == [
        ["a", "1", "2024-01-02", "yes"],
        ["b", "", "", "no"],
    ]
    assert "a Parquet file" in _refused(_file(tmp_path, b"PAR1 no", "bad.parquet"))
