"""Files that cannot be read, and maps that do not fit: each one clear finding, nothing written, no traceback."""

import io
import struct
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pytest

from riskmodel.errors import Finding, Refused
from tests.training.registry.build import HEAD, HEAD_MAP, ON, book, column, cvj, map_of, one_sheet, rules
from training.registry import files, mapping
from training.registry.draft import draft_map
from training.registry.tidying import tidy

SIGNATURE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def _compound(*streams: str) -> bytes:
    """A compound file (MS-CFB: 512-byte header, then a directory of 128-byte entries) with these stream names."""
    header = SIGNATURE + bytes(16) + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6)
    entries = b"".join(name.encode("utf-16-le").ljust(64, b"\0") + bytes(64) for name in ("Root Entry", *streams))
    return header.ljust(512, b"\0") + entries.ljust(512, b"\0")


UNPACKED = 8 * 2**20  # in place of half a gigabyte, to which the runtime's own test holds the limit


def _bomb() -> bytes:
    """A workbook whose one sheet unpacks to more than `UNPACKED`."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        with archive.open("xl/worksheets/sheet1.xml", "w") as part:
            part.write(b" " * (UNPACKED + 1))
    return held.getvalue()


def _old() -> bytes:
    return _compound("Workbook")


def _locked() -> bytes:
    return _compound("EncryptionInfo", "EncryptedPackage")


@pytest.mark.parametrize(
    ("name", "content", "rule", "says"),
    [
        ("registry.xlsx", _locked, "password", "saved without the password"),
        ("registry.xls", _old, "old_xls", "saved as .xlsx"),
        ("registry.xlsx", _old, "old_xls", "saved as .xlsx"),
        ("registry.xlsx", _bomb, "unpacks_too_large", "at most 100,000 rows"),
        ("registry.xlsx", lambda: b"PK\x03\x04 and nothing more", "not_xlsx", ".xlsx"),
        ("registry.xlsx", lambda: b"", "not_xlsx", ".xlsx"),
        ("registry.csv", lambda: b"", "empty_file", "a table with a header row"),
        ("registry.csv", lambda: "No;Höhe\n1;2".encode("latin-1"), "not_utf8", "UTF-8"),
        ("registry.doc", lambda: b"anything", "type", "an .xlsx or a .csv file"),
    ],
)
def test_files_that_are_no_registry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, content: Callable[[], bytes], rule: str, says: str
) -> None:
    monkeypatch.setattr("riskmodel.tables.workbook.MOST_UNPACKED_BYTES", UNPACKED)
    path = tmp_path / name
    path.write_bytes(content())
    with pytest.raises(Refused) as caught:
        files.read(path)
    (finding,) = caught.value.findings
    assert (finding.rule, says in finding.accepted) == (rule, True), str(finding)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Refused) as caught:
        files.read(tmp_path / "registry.xlsx")
    assert rules(caught.value.findings) == ["no_file"]


def _of_csv(columns: str) -> str:
    return one_sheet(columns).replace('"Registry"', '"table"')


def test_csv_with_mixed_line_ends_and_decimal_commas(tmp_path: Path) -> None:
    path = tmp_path / "Registry.csv"
    path.write_bytes("No;Op;ADI\r\nA-1;2019-04-03;3,5\nA-2;2019-05-03;4\r\n\nA-3;2019-06-03;4,25\n".encode("utf-8-sig"))
    columns = HEAD_MAP + '[sheet.column."ADI"]\nto = "adi_mm"\n'
    registry = files.read(path)
    with pytest.raises(Refused) as caught:
        tidy(registry, map_of(tmp_path, _of_csv(columns)), cvj(), on=ON)
    assert [(finding.row, finding.rule) for finding in caught.value.findings] == [
        (2, "decimal_comma"),
        (5, "decimal_comma"),
    ]
    held = tidy(registry, map_of(tmp_path, _of_csv(columns + 'decimal = "comma"')), cvj(), on=ON)
    assert column(held, "adi_mm") == ["3.5", "4", "4.25"]


def test_commas_that_split_cells_are_found(tmp_path: Path) -> None:
    path = tmp_path / "Registry.csv"
    path.write_text("No,Op,ADI\nA-1,2019-04-03,3,5\n")
    with pytest.raises(Refused) as caught:
        files.read(path)
    (finding,) = caught.value.findings
    assert (finding.row, finding.rule) == (2, "ragged_row")
    assert "decimal comma" in finding.found


ROWS = [(*HEAD, "ADI"), ("A-1", "2019-04-03", 4)]
MAP = one_sheet(HEAD_MAP + '[sheet.column."ADI"]\nto = "adi_mm"\n')


def _refused(folder: Path, sheets: Mapping[str, Sequence[Sequence[object]]], text: str) -> tuple[Finding, ...]:
    path = book(folder / "registry.xlsx", sheets)
    with pytest.raises(Refused) as caught:
        tidy(files.read(path), map_of(folder, text), cvj(), on=ON)
    return caught.value.findings


def test_an_empty_sheet(tmp_path: Path) -> None:
    (finding,) = _refused(tmp_path, {"Registry": []}, one_sheet(HEAD_MAP))
    assert finding.rule == "empty_file"
    second = one_sheet(HEAD_MAP).partition("[[sheet]]")[2].replace("Registry", "Empty")
    findings = _refused(tmp_path, {"Registry": ROWS, "Empty": []}, f"{MAP}\n[[sheet]]{second}")
    assert [(finding.sheet, finding.rule) for finding in findings] == [("Empty", "empty_sheet")]


def test_an_empty_sheet_beside_others_needs_no_line(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"Registry": ROWS, "Sheet2": []})
    held = tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON)
    assert column(held, "adi_mm") == ["4"]
    assert 'name = "Sheet2"\nleave_out = true' in draft_map(files.read(path), cvj())


def test_two_sheets_that_look_alike(tmp_path: Path) -> None:
    sheets = {"Registry": ROWS, "registry (2)": ROWS}
    (finding,) = _refused(tmp_path, sheets, MAP)
    assert (finding.sheet, finding.rule) == ("registry (2)", "two_alike")
    assert finding.found == "a sheet that looks like another copy of Registry"
    draft = draft_map(files.read(tmp_path / "registry.xlsx"), cvj())
    assert "looks like another copy of Registry: which of the two holds?" in draft


def test_a_sheet_that_nobody_mentions(tmp_path: Path) -> None:
    findings = _refused(tmp_path, {"Registry": ROWS, "Deaths": [("No",), ("A-1",)]}, MAP)
    assert [(finding.sheet, finding.rule) for finding in findings] == [("Deaths", "unmapped_sheet")]


def test_a_map_that_names_an_absent_column(tmp_path: Path) -> None:
    (finding,) = _refused(tmp_path, {"Registry": ROWS}, MAP + '[sheet.column."PADl"]\nto = "padi_mm"\n')
    assert (finding.rule, finding.column) == ("absent", "Registry, column PADl")
    assert "the map without this column" in finding.accepted


def test_a_column_that_the_map_passes_over(tmp_path: Path) -> None:
    (finding,) = _refused(tmp_path, {"Registry": [(*HEAD, "ADI", "BMI"), ("A-1", "2019-04-03", 4, 20)]}, MAP)
    assert (finding.rule, finding.column) == ("unmapped_column", "BMI")


def test_a_map_made_for_another_file_is_one_finding(tmp_path: Path) -> None:
    other = [("Case", "Date", "Height", "Weight"), ("A-1", "2019-04-03", 100, 20)]
    (finding,) = _refused(tmp_path, {"Registry": other}, MAP)
    assert (finding.rule, finding.found) == ("other_file", "0 of the map's 3 columns in this file")


def test_a_map_for_an_absent_sheet(tmp_path: Path) -> None:
    text = MAP + '[[sheet]]\nname = "Deaths"\nleave_out = true\n'
    (finding,) = _refused(tmp_path, {"Registry": ROWS}, text)
    assert finding.rule == "absent_sheet"


MAPS = [
    ("format = 1", "missing_key"),
    (MAP.replace("format = 1", "format = 2"), "format"),
    (MAP.replace("to = ", "too = ", 1), "column"),
    (MAP + "decimal = 'semicolon'", "unknown_word"),
    (MAP + "[sheet.column.\"ADI\".codes]\n'3' = 4", "wrong_type"),
    (MAP + "serials = 1901", "unknown_word"),
    (MAP + "bogus = 1", "unknown_key"),
    (MAP.replace('"adi_mm"', '"adi_mn"'), "unknown_variable"),
    (MAP.replace('"adi_mm"', '"?"'), "unanswered"),
    (MAP.replace('"adi_mm"', '"adi_mm"  # check: by its header'), "unchecked"),
    (MAP + 'not_carried = "free_text"', "column"),
    (MAP + 'unit = "kg"', "unknown_unit"),
    (MAP + '[sheet.column."ADI".codes]\n"x" = "wide"', "unknown_code"),
    (MAP.replace('becomes = "children"', 'becomes = "patients"'), "unknown_word"),
    (MAP.replace('becomes = "children"', ""), "sheet"),
    (MAP.replace('to = "case_id"', 'not_carried = "identifier"'), "no_key_column"),
    (MAP.replace('"Registry"\n', '"Registry"\nrows = "operations"\n'), "later"),
    (MAP + '[sheet.column."ADI 2"]\nto = "adi_mm"', "two_columns"),
    (MAP + 'reads = "sides"', "sides"),
    (MAP + 'reads = "span"', "span"),
    (MAP + 'reads = "flag"', "unknown_code"),
    ("this is = = no TOML", "not_toml"),
]


@pytest.mark.parametrize(("text", "rule"), MAPS, ids=[rule for _, rule in MAPS])
def test_maps_that_make_no_sense(tmp_path: Path, text: str, rule: str) -> None:
    findings = _refused(tmp_path, {"Registry": ROWS}, text)
    assert rule in rules(findings)
    assert all(finding.accepted for finding in findings)


def test_a_map_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(mapping.MapRefused) as caught:
        mapping.read(tmp_path / "no.toml")
    assert rules(caught.value.findings) == ["io"]
