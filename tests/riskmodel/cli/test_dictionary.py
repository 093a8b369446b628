"""`riskmodel dictionary`, as a person calls it."""

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

from riskmodel import dictionary
from riskmodel.cli import commands
from riskmodel.cli.status import run


def _run(*arguments: str) -> int:
    return run(commands, "riskmodel", list(arguments))


def test_every_command_is_listed_with_what_it_does(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("--help") == 0
    told = capsys.readouterr().out
    assert "dictionary" in told
    assert "does not replace the" in told
    assert "Exit status: 0 done" in told


def test_help_loads_nothing_heavy() -> None:
    """Loading numpy or the dictionary for a help text would make every call slow."""
    code = (
        "import sys\nfrom riskmodel.cli import commands\nfrom riskmodel.cli.status import run\n"
        "status = run(commands, 'riskmodel', ['--help'])\n"
        "heavy = {'numpy', 'python_calamine', 'typst', 'starlette', 'tomllib'} & set(sys.modules)\n"
        "sys.exit(f'{status} {heavy}' if status or heavy else 0)"
    )
    held = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert held.returncode == 0, held.stderr


def test_the_dictionary_is_shown_with_units_levels_and_outcomes(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("dictionary") == 0
    told = capsys.readouterr().out
    assert "adi_mm (imaging, core): Atlantodental interval, neutral" in told
    assert "a number from -3 to 30 mm or not_measurable" in told
    assert "mps_iva: Mucopolysaccharidosis IVA" in told
    assert "fixation_failure: first of:" in told


def test_json_is_the_document_with_its_digest(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("dictionary", "--json") == 0
    document = json.loads(capsys.readouterr().out)
    digest = document.pop("digest")
    held = dictionary.from_document(document)
    assert held.digest == digest == dictionary.read("cvj").digest


def test_the_schema_is_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("dictionary", "--schema") == 0
    assert json.loads(capsys.readouterr().out)["primaryKey"] == ["case_id"]


def test_a_template_is_an_empty_sheet_with_30_columns(tmp_path: Path) -> None:
    path = tmp_path / "children.csv"
    assert _run("dictionary", "--template", str(path)) == 0
    with path.open(newline="", encoding="utf-8") as stream:
        (header,) = list(csv.reader(stream))
    assert len(header) == 30


def test_a_dictionary_of_ones_own_is_shown_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    head, entry = 'format = 1\nname = "mine"\nversion = "3"\n', '[variable.a]\nlabel = "A thing"\nkind = "yes_no"\n'
    path.write_text(head + entry + 'moment = "clinic"\n')
    assert _run("dictionary", "--of", str(path)) == 0
    assert "a (clinic): A thing" in capsys.readouterr().out


def test_wrong_use_and_refusals_have_their_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("dictionary", "--json", "--schema") == 2
    assert "one at a time" in capsys.readouterr().err
    assert _run("dictionary", "--of", str(tmp_path / "no.toml")) == 1
    assert "accepted: a shipped name (cvj)" in capsys.readouterr().err
    assert _run("dictionary", "--template", str(tmp_path / "no" / "folder.csv")) == 3
    out, err = capsys.readouterr()
    assert (out, err) == ("", "riskmodel: could not finish: No such file or directory (folder.csv)\n")


def test_a_reader_that_goes_away_ends_the_command_in_silence() -> None:
    code = "from riskmodel.cli import main; import sys; sys.argv = ['riskmodel', 'dictionary', '--json']; main()"
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as held:
        assert held.stdout is not None
        assert held.stderr is not None
        held.stdout.close()
        said = held.stderr.read()
    assert (held.returncode, said) == (3, b"")
