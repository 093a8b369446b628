import csv
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from openpyxl import load_workbook

from riskmodel import dictionary, tables
from riskmodel.cases import check
from riskmodel.errors import Severity
from synthetic_cohort.__main__ import main
from synthetic_cohort.scenarios import Scenario

SMALL = ("--children", "60")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


@pytest.mark.parametrize("scenario", [scenario.value for scenario in Scenario])
def test_the_same_seed_gives_the_same_bytes(tmp_path: Path, scenario: str) -> None:
    for name in ("one", "two"):
        out, truth = str(tmp_path / name), str(tmp_path / f"{name}.csv")
        assert run(*SMALL, "--scenario", scenario, "--out", out, "--truth-out", truth).exit_code == 0
    first, second = (sorted((tmp_path / name).iterdir()) for name in ("one", "two"))
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "two.csv").read_bytes()


def test_another_seed_gives_other_children_in_the_same_world(tmp_path: Path) -> None:
    for seed in ("1", "2"):
        assert run(*SMALL, "--seed", seed, "--out", str(tmp_path / seed)).exit_code == 0
    first, second = (rows(tmp_path / seed / "children.csv") for seed in ("1", "2"))
    assert first != second


def test_the_cohort_passes_the_door_of_the_software_it_is_for(tmp_path: Path) -> None:
    assert run("--children", "2000", "--out", str(tmp_path)).exit_code == 0
    (table,) = tables.read(tmp_path)
    _, findings = check(table, dictionary.read("cvj"))
    assert not [str(finding) for finding in findings if finding.severity is Severity.ERROR]


def test_without_gaps_nothing_is_empty_but_times_of_what_did_not_happen(tmp_path: Path) -> None:
    assert run(*SMALL, "--missing", "0", "--out", str(tmp_path)).exit_code == 0
    for row in rows(tmp_path / "children.csv"):
        assert {name for name, cell in row.items() if not cell} <= {
            "fixation_failure_months",
            "revision_months",
            "other_end_months",
        }


def test_more_missing_and_more_censoring_do_what_they_say(tmp_path: Path) -> None:
    empty, short = [], []
    for times in ("0.5", "1", "3"):
        out = tmp_path / times
        assert run("--children", "2000", "--missing", times, "--censoring", times, "--out", str(out)).exit_code == 0
        children = rows(out / "children.csv")
        empty.append(np.mean([not row["padi_mm"] for row in children]))
        short.append(np.mean([float(row["last_scan_months"]) < 22 for row in children]))
    assert 0 < empty[0] < empty[1] < empty[2]
    assert 0 < short[0] < short[1] < short[2]
    assert 0.1 < short[1] < 0.25, "the usual loss before the two-year visit"


def test_gaps_are_more_frequent_early_and_in_one_unit_and_do_not_follow_the_value(tmp_path: Path) -> None:
    runs = {}
    for missing in ("0", "1"):
        assert run("--children", "6000", "--missing", missing, "--out", str(tmp_path / missing)).exit_code == 0
        runs[missing] = rows(tmp_path / missing / "children.csv")
    whole, holed = runs["0"], runs["1"]
    gap = np.array([not row["nurick_grade"] for row in holed])
    early = np.array([int(row["operation_year"]) < 2014 for row in whole])
    unit = np.array([row["centre_id"] == "HS" for row in whole])
    assert gap[early].mean() > 1.3 * gap[~early].mean()
    assert gap[unit].mean() > 1.3 * gap[~unit].mean()
    grade = np.array([float(row["nurick_grade"]) if row["nurick_grade"].isdigit() else np.nan for row in whole])
    old = np.array([float(row["age_years"]) >= 5 for row in whole])
    apart = np.nanmean(grade[gap & old]) - np.nanmean(grade[~gap & old])
    assert abs(apart) < 4 * np.nanstd(grade) / np.sqrt((gap & old).sum())


def test_a_workbook_holds_the_same_cells_as_the_folder(tmp_path: Path) -> None:
    book = tmp_path / "cohort.xlsx"
    assert run(*SMALL, "--with", "sides,events", "--out", str(book)).exit_code == 0
    assert run(*SMALL, "--with", "sides,events", "--out", str(tmp_path / "folder")).exit_code == 0
    held = load_workbook(book)
    assert held.sheetnames == ["children", "sides", "events"]
    for name in held.sheetnames:
        header, *cells = held[name].iter_rows(values_only=True)
        text = rows(tmp_path / "folder" / f"{name}.csv")
        assert list(header) == list(text[0])
        for row, wanted in zip(cells, text, strict=True):
            for cell, expected in zip(row, wanted.values(), strict=True):
                assert cell == (float(expected) if isinstance(cell, int | float) else expected or None)


def test_the_truth_names_every_child_and_lies_between_0_and_1(tmp_path: Path) -> None:
    truth = tmp_path / "truth.csv"
    assert run(*SMALL, "--out", str(tmp_path / "cohort"), "--truth-out", str(truth)).exit_code == 0
    held = rows(truth)
    assert [row["case_id"] for row in held] == [row["case_id"] for row in rows(tmp_path / "cohort" / "children.csv")]
    names = {
        f"{outcome}_24m_{given}" for outcome in ("fixation_failure", "revision") for given in ("everything", "told")
    }
    assert set(held[0]) == names | {"case_id"}
    assert all(0 < float(row[name]) < 1 for row in held for name in names)


def test_units_beyond_the_four_have_numbers(tmp_path: Path) -> None:
    assert run("--children", "200", "--centres", "6", "--out", str(tmp_path)).exit_code == 0
    assert {row["centre_id"] for row in rows(tmp_path / "children.csv")} == {"TW", "CM", "HS", "EH", "U05", "U06"}


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--children", "0", "--out", "x"), "0 is not in the range 1<=x<=1000000"),
        (("--children", "many", "--out", "x"), "'many' is not a valid integer"),
        (("--missing", "nan", "--out", "x"), "nan found; accepted: 0 to 3"),
        (("--censoring", "-1", "--out", "x"), "-1.0 is not in the range 0<=x<=10"),
        (("--scenario", "plane", "--out", "x"), "'plane' is not one of 'plain', 'rare'"),
        (("--scenario", "dirty", "--with", "sides", "--out", "x"), "the messy registry holds the core only"),
        (("--out", "x", "--truth-out", "x/truth.csv"), "a file inside the cohort; accepted: one beside it"),
        ((), "Missing option '--out'"),
    ],
)
def test_wrong_use_is_told_in_one_line(arguments: tuple[str, ...], says: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert says in result.output
    assert not Path("x").exists()


def test_what_cannot_be_written_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("here already", encoding="utf-8")
    result = run(*SMALL, "--out", str(tmp_path / "file"))
    assert result.exit_code == 3
    assert result.output.startswith("could not write")
    assert len(result.output.splitlines()) == 1
