"""`riskmodel inspect` on a written bundle, and on what is none."""

from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli import commands
from riskmodel.cli.status import Status, run
from tests.riskmodel.documents.builders import bundle


def test_the_main_facts_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "small.riskmodel.json"
    digest = bundles.write(bundle(), path)
    assert run(commands, "riskmodel", ["inspect", str(path)]) == Status.DONE
    told = capsys.readouterr()
    assert told.err == ""
    lines = told.out.splitlines()
    assert lines[0] == "A small model"
    assert f"  small, digest {digest}" in lines
    assert "  The fixation or the bone did not hold within 24 months; in the cohort 16 in 100" in lines
    assert "  c-statistic: 0.750; 0.700, 0.690" in lines
    assert lines.index("Limits") < lines.index("Predicts") < lines.index("For whom")


def test_a_file_that_is_no_bundle_is_refused_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "other.json"
    path.write_text("{}")
    assert run(commands, "riskmodel", ["inspect", str(path)]) == Status.REFUSED
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) == 1
    assert "Traceback" not in told.err
