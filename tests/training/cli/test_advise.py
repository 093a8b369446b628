"""`python -m training advise`: the verdict first, the same facts as JSON."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from riskmodel.cli.status import Status, run
from tests.training.cohort.children import SHORT, Columns, children, with_cell, write
from training.cli import NAME, commands

Advise = Callable[..., tuple[int, str, str]]


@pytest.fixture
def advise(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Advise:
    """Exit status, stdout and stderr of the command on these columns."""

    def of(columns: Columns, *options: str, under: str = SHORT) -> tuple[int, str, str]:
        path = write(columns, tmp_path / "children.csv")
        status = run(commands, NAME, ["advise", str(path), "--protocol", under, *options])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return of


def test_the_verdict_and_its_reason_are_told(advise: Advise) -> None:
    status, out, err = advise(children(300))

    assert (status, err) == (Status.DONE, "")
    told = [line.strip() for line in out.splitlines()]
    assert told[0].startswith("Made from invented data")
    assert "advice: do not refit; update with priors" in told
    assert any(line.startswith("At least 300 children with at least 75 events can carry about") for line in told)
    assert "does not replace the judgement of the treating team" in told[-1]


def test_the_same_advice_is_written_as_json(advise: Advise, tmp_path: Path) -> None:
    target = tmp_path / "advice.json"
    status, out, _ = advise(children(300), "--json", str(target))

    held = json.loads(target.read_text(encoding="utf-8"))
    assert status == Status.DONE
    assert held["protocol"] == SHORT
    assert held["path"] == "update with priors"
    assert held["reason"] in out
    assert held["cautions"][0].startswith("Made from invented data")
    assert set(held["degrees_of_freedom_carried"]) == {"shrinkage", "optimism", "absolute_error"}


def test_a_cohort_that_cannot_tell_the_outcome_is_refused_in_one_line(advise: Advise, tmp_path: Path) -> None:
    columns = children(16)
    status, out, err = advise(columns, "--json", str(tmp_path / "advice.json"))

    assert (status, out) == (Status.REFUSED, "")
    assert "needs at least 5 known events and 5 known non-events at 24 months; found 4 and" in err
    assert not (tmp_path / "advice.json").exists()


def test_findings_of_the_cohort_come_before_any_advice(advise: Advise) -> None:
    status, out, err = advise(with_cell(children(60), "age_years", 3, "99"))

    assert (status, out) == (Status.REFUSED, "")
    assert "row 5, column age_years" in err
