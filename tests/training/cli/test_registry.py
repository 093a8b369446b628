"""`python -m training template`, `map` and `tidy`, as typed."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from riskmodel import tables
from riskmodel.cli.status import Status, run
from tests.training.registry.build import book
from training.cli import NAME, commands

Command = Callable[..., tuple[int, str, str]]
ROWS = [("No", "Date of surgery", "ADI"), ("TW-1", "2019-04-03", -2.5), ("TW-2", "2019-05-03", "4 mm")]


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Command:
    """Exit status, stdout and stderr of a command run in a folder with a registry."""
    monkeypatch.chdir(tmp_path)
    book(tmp_path / "registry.xlsx", {"Registry": ROWS})

    def of(*arguments: str) -> tuple[int, str, str]:
        status = run(commands, NAME, arguments)
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return of


def _answer(path: Path) -> None:
    text = path.read_text().replace('centre_id = "?"', 'centre_id = "TW"')
    path.write_text(re.sub(r"\s*# check.*", "", text))


def test_from_the_registry_to_the_cohort(command: Command, tmp_path: Path) -> None:
    before = (tmp_path / "registry.xlsx").read_bytes()
    status, out, _ = command("map", "registry.xlsx", "--out", "map.toml")
    assert status == Status.DONE
    assert re.fullmatch(r"written: map.toml, with \d+ guesses to check before the registry can be tidied\n", out)
    status, out, err = command("tidy", "registry.xlsx", "--map", "map.toml", "--out", "cohort")
    assert (status, out, (tmp_path / "cohort").exists()) == (Status.REFUSED, "", False)
    assert "guesses still marked # check" in err
    _answer(tmp_path / "map.toml")
    status, out, err = command("tidy", "registry.xlsx", "--map", "map.toml", "--out", "cohort", "--on", "2026-11-25")
    assert (status, err) == (Status.DONE, "")
    assert "children: 2 rows, 4 columns" in out
    (children,) = tables.read(tmp_path / "cohort")
    assert children.header == ("case_id", "centre_id", "operation_year", "adi_mm")
    assert children.rows == (("K001", "TW", "2019", "-2.5"), ("K002", "TW", "2019", "4"))
    assert (tmp_path / "cohort.changes.csv").read_text().startswith("sheet,row,column,was,became,rule\n")
    assert (tmp_path / "registry.xlsx").read_bytes() == before


def test_findings_are_said_all_at_once_and_nothing_is_written(command: Command, tmp_path: Path) -> None:
    command("map", "registry.xlsx", "--out", "map.toml")
    _answer(tmp_path / "map.toml")
    book(tmp_path / "registry.xlsx", {"Registry": [*ROWS, ("TW-3", "soon", "wide"), ("TW-1", "2019-06-03", 400)]})
    options = ("--out", "cohort", "--on", "2026-11-25", "--findings", "findings.csv")
    status, out, err = command("tidy", "registry.xlsx", "--map", "map.toml", *options)
    assert (status, out) == (Status.REFUSED, "")
    for said in ("row 4, column Date of surgery", "row 4, column ADI", "row 5: found the same key as row 2"):
        assert said in err
    assert {path.name for path in tmp_path.iterdir()} == {"registry.xlsx", "map.toml", "findings.csv"}
    (listed,) = tables.read(tmp_path / "findings.csv")
    assert listed.header == ("severity", "sheet", "row", "column", "found", "accepted", "rule")
    assert [(row[2], row[6]) for row in listed.rows] == [
        ("4", "not_a_date"),
        ("4", "not_a_number"),
        ("5", "double_key"),
    ]


@pytest.mark.parametrize(
    "arguments",
    [
        ("map", "registry.xlsx", "--out", "registry.xlsx", "--replace"),
        ("tidy", "registry.xlsx", "--map", "map.toml", "--out", ".", "--replace"),
        ("tidy", "registry.xlsx", "--map", "map.toml", "--out", "cohort", "--changes", "registry.xlsx", "--replace"),
        ("tidy", "registry.xlsx", "--map", "map.toml", "--out", "cohort", "--changes", "map.toml", "--replace"),
        ("template", "registry.xlsx"),
    ],
)
def test_no_command_writes_over_what_it_reads(command: Command, tmp_path: Path, arguments: tuple[str, ...]) -> None:
    command("map", "registry.xlsx", "--out", "map.toml")
    _answer(tmp_path / "map.toml")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    status, out, _ = command(*arguments)
    assert (status, out) == (Status.REFUSED, "")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_an_earlier_cohort_is_replaced_on_request_only(command: Command, tmp_path: Path) -> None:
    command("map", "registry.xlsx", "--out", "map.toml")
    _answer(tmp_path / "map.toml")
    tidy = ("tidy", "registry.xlsx", "--map", "map.toml", "--out", "cohort", "--on", "2026-11-25")
    assert command(*tidy)[0] == Status.DONE
    assert command(*tidy)[0] == Status.REFUSED
    assert command(*tidy, "--replace")[0] == Status.DONE
    (tmp_path / "cohort" / "notes.docx").write_text("mine")
    status, _, err = command(*tidy, "--replace")
    assert (status, "holds more than CSV files" in err) == (Status.REFUSED, True)
    assert (tmp_path / "cohort" / "notes.docx").read_text() == "mine"


def test_the_template(command: Command, tmp_path: Path) -> None:
    status, out, _ = command("template", "cohort.xlsx", "--with", "sides, screws")
    assert (status, out) == (Status.DONE, "written: cohort.xlsx\n")
    held = {table.sheet for table in tables.read(tmp_path / "cohort.xlsx")}
    assert held == {"children", "how to fill", "sides", "screws", "lists"}
    assert command("template", "cohort.xls")[0] == Status.WRONG_USE
    status, _, err = command("template", "other.xlsx", "--with", "spoons")
    assert (status, "no table spoons" in err) == (Status.REFUSED, True)


@pytest.mark.parametrize("rows", ["Registry", "Registry=", "Registry=a", "Registry=0"])
def test_header_rows_are_numbers(command: Command, rows: str) -> None:
    assert command("map", "registry.xlsx", "--out", "map.toml", "--header-rows", rows)[0] == Status.WRONG_USE
