"""`python -m training check`: a summary of a sound cohort, one clear line for everything else, never a traceback."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from riskmodel.cli.status import Status, run
from tests.training.cohort.children import SHORT, Columns, children, with_cell, without, write
from training.cli import NAME, commands

ROOT = Path(__file__).parents[3]
KYPHOSIS = ROOT / "tests" / "reference" / "kyphosis"

Check = Callable[..., tuple[int, str, str]]


@pytest.fixture
def check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Check:
    """Exit status, stdout and stderr of the command on these columns (or on a file)."""

    def of(cohort: Columns | Path, *options: str, under: str = SHORT) -> tuple[int, str, str]:
        path = cohort if isinstance(cohort, Path) else write(cohort, tmp_path / "children.csv")
        status = run(commands, NAME, ["check", str(path), "--protocol", under, *options])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return of


def changed(path: Path, *changes: tuple[str, str]) -> str:
    """Path of the shipped short protocol with some of its text replaced."""
    text = (ROOT / "training" / "protocols" / f"{SHORT}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    held = path / "changed.toml"
    held.write_text(text, encoding="utf-8")
    return str(held)


def test_a_sound_cohort_is_summed_up(check: Check) -> None:
    status, out, err = check(children(60))

    assert (status, err) == (Status.DONE, "")
    lines = [line.strip() for line in out.splitlines()]
    assert lines[0].startswith("Made from invented data")
    assert "60 children" in lines
    assert "15 with the event" in lines
    assert "39 free at 24 months" in lines
    assert "6 last seen free before 24 months" in lines
    assert "rate: 25.0%; by visit window: 0 months 25.0%, 2 months 25.0%, 4 months 25.0%" in lines
    assert "does not replace the judgement of the treating team" in lines[-1]


def test_the_same_facts_are_written_as_json(check: Check, tmp_path: Path) -> None:
    target = tmp_path / "summary.json"
    columns = with_cell(children(60), "prior_cvj_surgery", 2, "2")

    status, _, _ = check(columns, "--json", str(target))

    held = json.loads(target.read_text(encoding="utf-8"))
    assert status == Status.DONE
    assert held["demonstration"] is True
    assert held["cautions"][0].startswith("Made from invented data")
    assert (held["children"], held["events"], held["lost_before_horizon"]) == (59, 15, 6)
    assert held["left_out"][0]["children"] == 1
    assert held["rate"] == pytest.approx(15 / 59)
    assert [window["months"] for window in held["rates_by_window"]] == [0, 2, 4]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["children.csv", "summary.json"]


def test_the_open_kyphosis_data_are_summed_up(check: Check) -> None:
    status, out, err = check(KYPHOSIS / "kyphosis.csv", under=str(KYPHOSIS / "kyphosis.toml"))

    assert (status, err) == (Status.DONE, "")
    assert "17 with the event" in out
    assert "64 without it" in out
    assert "invented" not in out


def test_children_seen_in_the_window_are_said_to_count(check: Check) -> None:
    columns = children(60)
    columns["last_scan_months"] = ["23" if each == "30" else each for each in columns["last_scan_months"]]

    _, out, _ = check(columns)

    assert "39   of these last seen in the 2 months before, and counted as seen then" in out


def header_only(columns: Columns) -> Columns:
    return {name: [] for name in columns}


def first(columns: Columns, count: int) -> Columns:
    return {name: values[:count] for name, values in columns.items()}


def none_failed(columns: Columns) -> Columns:
    size = len(columns["case_id"])
    return {**columns, "fixation_failure": ["no"] * size, "fixation_failure_months": [""] * size}


def all_failed(columns: Columns) -> Columns:
    size = len(columns["case_id"])
    return {**columns, "fixation_failure": ["yes"] * size, "fixation_failure_months": ["10"] * size}


BAD: dict[str, tuple[Callable[[Columns], Columns], str]] = {
    "header only": (header_only, "a header and no row under it"),
    "one child": (lambda held: first(held, 1), "found 1 and 0 among 1 children"),
    "no events": (none_failed, "found 0 and 54 among 60 children"),
    "only events": (all_failed, "found 60 and 0 among 60 children"),
    "three events": (lambda held: first(held, 12), "found 3 and 7 among 12 children"),
    "text where a number belongs": (
        lambda held: with_cell(held, "age_years", 4, "about 7"),
        "row 6, column age_years: found about 7",
    ),
    "a level by another name": (
        lambda held: with_cell(held, "condition", 0, "downs"),
        "row 2, column condition: found downs",
    ),
    "the same key twice": (lambda held: with_cell(held, "case_id", 1, "X-000"), "row 3, column case_id: found X-000"),
    "a predictor without a column": (lambda held: without(held, "reduces"), "column reduces: found no such column"),
    "failure after the last scan": (
        lambda held: with_cell(held, "fixation_failure_months", 4, "31"),
        "row 6, column fixation_failure_months: found 31.0 months, but last_scan_months is 30.0",
    ),
    "yes without a time": (
        lambda held: with_cell(held, "fixation_failure_months", 4, ""),
        "row 6, column fixation_failure_months: found nothing",
    ),
    "a name": (lambda held: {**held, "surname": ["x"] * 60}, "column surname: found a column for a direct identifier"),
}


@pytest.mark.parametrize("fault", BAD, ids=[name.replace(" ", "-") for name in BAD])
def test_bad_input_is_refused_in_one_clear_line(fault: str, check: Check, tmp_path: Path) -> None:
    spoil, says = BAD[fault]

    status, _, err = check(spoil(children(60)), "--json", str(tmp_path / "summary.json"))

    assert status == Status.REFUSED
    assert says in err
    assert not (tmp_path / "summary.json").exists()


def test_an_empty_file_is_refused(check: Check, tmp_path: Path) -> None:
    path = tmp_path / "empty.csv"
    path.write_bytes(b"")

    status, out, err = check(path)

    assert (status, out) == (Status.REFUSED, "")
    assert err.splitlines() == ["error: empty: found an empty file; accepted: a table with a header row"]


def test_over_a_hundred_thousand_rows_are_refused(check: Check, tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    path.write_text("case_id\n" + "x\n" * 100_001, encoding="utf-8")

    status, _, err = check(path)

    assert status == Status.REFUSED
    assert err.splitlines() == ["error: long: found more than 100,000 rows; accepted: at most 100,000 rows"]


def test_a_constant_column_passes_with_a_warning(check: Check) -> None:
    status, out, err = check({**children(60), "weaker_end_anchors": ["2"] * 60})

    assert status == Status.DONE
    assert "60 children" in out
    assert err.startswith(
        "warning: children, column weaker_end_anchors: found the same value in all 60 eligible children"
    )


def test_a_horizon_past_the_follow_up_is_refused(check: Check, tmp_path: Path) -> None:
    under = changed(tmp_path, ("horizon_months = 24", "horizon_months = 60"))

    status, _, err = check(children(60), under=under)

    assert status == Status.REFUSED
    assert "at least 10 children still followed and free just before it; found 0 at 60 months" in err


def test_a_misspelt_variable_in_the_protocol_is_refused(check: Check, tmp_path: Path) -> None:
    under = changed(tmp_path, ('"age_years"', '"age_year"'))

    status, out, err = check(children(60), under=under)

    assert (status, out) == (Status.REFUSED, "")
    assert "found the unknown variable age_year; accepted: age_years (the nearest known name)" in err


def test_a_predictor_known_only_after_the_operation_is_refused(check: Check, tmp_path: Path) -> None:
    under = changed(tmp_path, ('variable = "construct_kind"', 'variable = "done_construct_kind"'))

    status, _, err = check(children(60), under=under)

    assert status == Status.REFUSED
    assert "done_construct_kind, known only from theatre on; accepted: a variable known at plan" in err


def test_priors_of_a_term_that_the_protocol_lacks_are_refused(check: Check, tmp_path: Path) -> None:
    own = '[[prior]]\nterm = "age_yeers"\nmean = 0\nsd = 1\nsource = "x"\nconfidence = "L"\nkind = "own"\n'
    (tmp_path / "own.toml").write_text("format = 1\n" + own, encoding="utf-8")

    status, _, err = check(children(60), under=changed(tmp_path, ("published.toml", "own.toml")))

    assert status == Status.REFUSED
    assert "column term: found age_yeers; accepted: age_years (the nearest known name)" in err


def test_wrong_use_is_said_as_such(check: Check, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(commands, NAME, ["check"]) == Status.WRONG_USE
    assert run(commands, NAME, ["chekc"]) == Status.WRONG_USE
    assert "Missing argument 'COHORT'" in capsys.readouterr().err


def test_a_folder_that_is_not_there_stops_the_writing_only(check: Check, tmp_path: Path) -> None:
    status, _, err = check(children(60), "--json", str(tmp_path / "nowhere" / "summary.json"))

    assert status == Status.NOT_FINISHED
    assert "could not finish: No such file or directory" in err


def test_the_module_runs_as_a_program(tmp_path: Path) -> None:
    path = write(children(60), tmp_path / "children.csv")
    arguments = [sys.executable, "-m", "training", "check", str(path), "--protocol", SHORT]

    done = subprocess.run(arguments, cwd=ROOT, capture_output=True, text=True, check=False)

    assert (done.returncode, done.stderr) == (0, "")
    assert "15 with the event" in done.stdout
