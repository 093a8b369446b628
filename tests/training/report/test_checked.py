"""The report of a check: what to do, what is missing where, and counts that give nobody away."""

import ast
import json
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.cases.table import column
from riskmodel.cli.status import Status, run
from riskmodel.documents.html import to_html
from riskmodel.errors import Finding, Severity
from tests.demonstration import FOLDER
from training import protocol as protocols
from training.cli import NAME, commands
from training.report.checked import Checked, check_file, document, page
from training.report.checked.hidden import shown
from training.report.checked.missing import Share, share_of
from training.report.checked.split import POOLED, by_centre, by_era
from training.report.checked.todo import Todo, groups, todo_of

SHORT = "fixation_failure_24m"
CHILDREN = FOLDER / "children.csv"
ROOT = Path(__file__).parents[3]
TABLES = st.integers(1, 5).flatmap(
    lambda width: st.lists(st.lists(st.integers(0, 40), min_size=width, max_size=width), min_size=1, max_size=5)
)


@pytest.fixture(scope="module")
def checked() -> Checked:
    return check_file(CHILDREN, protocols.read(SHORT))


def _broken(folder: Path) -> Path:
    """The demonstration cohort with one fault of each kind."""
    held = pd.read_csv(CHILDREN, dtype=str, keep_default_na=False)
    held.loc[2, "adi_mm"] = "4,5"
    held.loc[3, "age_years"] = "-1"
    held.loc[4, "sex"] = "F"
    held.loc[5, ["fixation_failure", "fixation_failure_months"]] = ["yes", ""]
    held["phone"] = "0171"
    path = folder / "broken.csv"
    held.rename(columns={"graft_kind": "graft"}).to_csv(path, index=False)
    return path


@given(TABLES)
def test_no_count_under_five_is_shown_or_given_away(counts: list[list[int]]) -> None:
    texts = shown(counts)
    hidden = np.array([[not text.isdigit() for text in row] for row in texts])
    held = np.array(counts)
    assert hidden[held < 5].all()
    assert [[int(text) for text in row if text.isdigit()] for row in texts] == [
        held[row][~hidden[row]].tolist() for row in range(len(held))
    ]
    for marks in (*hidden, *hidden.T):
        # A single hidden count in a line whose sum is known would be that sum less the others.
        assert marks.sum() != 1 or len(marks) == 1


def test_what_is_hidden_says_why() -> None:
    assert shown([[40, 7, 3]]) == (("40", "not shown", "fewer than 5"),)
    assert shown([[40, 7, 9], [12, 6, 8]]) == (("40", "7", "9"), ("12", "6", "8"))


@given(st.lists(st.integers(-1, 6), min_size=1, max_size=60))
def test_centres_part_the_children_and_none_is_small(codes: list[int]) -> None:
    labels = tuple("ABCDEFG")
    values = np.array([np.nan if code < 0 else code for code in codes])
    parts = by_centre(column(values, labels=labels))
    assert sorted(np.concatenate([part.children for part in parts]).tolist()) == list(range(len(codes)))
    assert all(len(part.children) >= 5 for part in parts) or len(parts) == 1
    for part in parts:
        if part.name in labels:
            assert {codes[child] for child in part.children} == {labels.index(part.name)}
        else:
            assert part.name in (POOLED, "not stated")


@given(st.lists(st.integers(1995, 2026), min_size=1, max_size=60))
def test_eras_part_the_years_in_order(years: list[int]) -> None:
    parts = by_era(column([float(year) for year in years]))
    assert sorted(np.concatenate([part.children for part in parts]).tolist()) == list(range(len(years)))
    assert all(len(part.children) >= 5 for part in parts) or len(parts) == 1
    spans = [sorted(years[child] for child in part.children) for part in parts]
    assert all(first[-1] < second[0] for first, second in pairwise(spans))
    assert parts[0].name in (f"{spans[0][0]}", f"{spans[0][0]} to {spans[0][-1]}")


@pytest.mark.parametrize(
    ("part", "share"),
    [(0, Share.HARDLY_ANY), (0.05, Share.HARDLY_ANY), (0.051, Share.SOME), (0.25, Share.SOME), (0.5, Share.MANY),
     (0.95, Share.MOST), (1, Share.NEARLY_ALL)],
)  # fmt: skip
def test_steps_of_missing(part: float, share: Share) -> None:
    assert share_of(part) is share


def test_the_missing_map_is_what_pandas_counts(checked: Checked) -> None:
    held = pd.read_csv(CHILDREN)
    kept = held[held["prior_cvj_surgery"] <= 1]  # the protocol's eligibility
    assert checked.missing is not None
    assert checked.missing.parts == ("all", *sorted(kept["centre_id"].unique()))
    told = {gap.name: gap.shares for gap in checked.missing.gaps}
    assert set(told) >= {"adi_mm", "padi_mm", "nurick_grade"}
    for name, shares in told.items():
        absent = kept[name].isna()
        by_pandas = [absent.mean(), *absent.groupby(kept["centre_id"]).mean().sort_index()]
        assert [share_of(share) for share in by_pandas] == list(shares), name
    assert "fixation_failure_months" not in told, "a time is missing wherever nothing happened"


def test_centres_are_what_pandas_counts(checked: Checked) -> None:
    held = pd.read_csv(CHILDREN)
    kept = held[held["prior_cvj_surgery"] <= 1]
    event = (kept["fixation_failure"] == "yes") & (kept["fixation_failure_months"] <= 24)
    assert checked.looked is not None
    assert checked.looked.centres is not None
    for name, children, cells, _ in checked.looked.centres.rows:
        of_centre = kept["centre_id"] == name
        assert int(children) == of_centre.sum()
        assert cells[0] in (str((event & of_centre).sum()), "fewer than 5", "not shown")


def test_a_usable_cohort_says_so_and_shows_both_pictures(checked: Checked) -> None:
    html = to_html(page(checked))
    assert "Nothing refuses this cohort." in html
    assert html.count("<svg") == 2
    assert "Made from invented data" in html
    assert "does not replace the judgement of the treating team" in html


def test_the_page_stands_alone(checked: Checked) -> None:
    html = to_html(page(checked))
    assert "<script" not in html
    assert re.findall(r"\s(?:src|href|style)=", html) == []
    assert set(re.findall(r"https?://[^\s\"'<]+", html)) <= {"http://www.w3.org/2000/svg"}
    for drawing in re.findall(r"<svg.*?</svg>", html, flags=re.DOTALL):
        parsed = ElementTree.fromstring(drawing)  # noqa: S314 - our own drawing
        assert parsed.findtext("{http://www.w3.org/2000/svg}title")
    assert html.count("In words") == 2


def test_a_refused_cohort_is_told_what_to_do_first(tmp_path: Path) -> None:
    held = check_file(_broken(tmp_path), protocols.read(SHORT))
    assert held.looked is None
    assert held.missing is not None
    assert [group.todo for group in held.groups] == [
        Todo.TAKE_OUT, Todo.MEND_CELLS, Todo.MEND_COURSE, Todo.COLUMNS, Todo.CONFIRM,
    ]  # fmt: skip
    mend = held.groups[1]
    assert [(item.column, item.rows) for item in mend.items] == [("adi_mm", (4,)), ("age_years", (5,)), ("sex", (6,))]
    html = to_html(page(held))
    assert f"{held.errors} findings refuse this cohort" in html
    assert "Who is in" not in html


def test_a_file_that_cannot_be_read_still_has_its_page(tmp_path: Path) -> None:
    path = tmp_path / "empty.csv"
    path.write_text("")
    held = check_file(path, protocols.read(SHORT))
    assert [group.todo for group in held.groups] == [Todo.FILE]
    assert "What is missing" not in to_html(page(held))


def test_too_few_events_are_one_finding_and_the_gaps_are_shown(tmp_path: Path) -> None:
    path = tmp_path / "few.csv"
    pd.read_csv(CHILDREN, dtype=str, keep_default_na=False).head(12).to_csv(path, index=False)
    held = check_file(path, protocols.read(SHORT))
    assert Todo.GATHER in [group.todo for group in held.groups]
    assert held.missing is not None


def test_the_document_holds_the_same_facts(checked: Checked) -> None:
    held = json.loads(json.dumps(document(checked), allow_nan=False))
    assert held["errors"] == 0
    assert held["cohort"]["children"] == checked.looked.outcome.children if checked.looked else False
    assert {row["name"] for row in held["cohort"]["centres"]} == {"CM", "EH", "HS", "TW"}
    assert held["missing"]["parts"][0] == "all"
    assert held["cautions"][0].startswith("Made from invented data")


def _rules_in(folder: Path) -> Iterator[str]:
    """The names of the checks that a package's code gives to findings: last texts of the calls that make them."""
    makers = {"cell", "column", "fault", "Finding", "_refused", "_fault"}
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in makers and node.args:
                texts = [arg.value for arg in node.args if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
                named = [text for text in texts if re.fullmatch(r"[a-z]+(_[a-z0-9]+)+", text)]
                yield from named[-1:]


@pytest.mark.parametrize("package", ["riskmodel/cases", "riskmodel/tables", "training/cohort", "training/outcome"])
def test_every_check_of_a_cohort_has_its_place(package: str) -> None:
    rules = set(_rules_in(ROOT / package)) - {"case_id"}
    assert rules or package == "training/outcome"
    lost = [
        rule for rule in sorted(rules) if todo_of(Finding("", None, None, "", "", Severity.ERROR, rule)) is Todo.OTHER
    ]
    casefile_only = {"not_toml"}
    assert set(lost) <= casefile_only, lost


def test_findings_alike_are_counted_once() -> None:
    held = [Finding("s", row, "adi_mm", f"{row}x", "a number", Severity.ERROR, "not_a_number") for row in range(2, 32)]
    ((item,),) = [group.items for group in groups(reversed(held))]
    assert (item.count, item.rows, item.found) == (30, (2, 3, 4, 5, 6, 7, 8, 9), "2x")


def test_the_command_writes_the_report_also_when_it_refuses(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def check(path: Path, report: str) -> tuple[int, Path]:
        target = tmp_path / report
        return run(commands, NAME, ["check", str(path), "--protocol", SHORT, "--report", str(target)]), target

    status, target = check(CHILDREN, "fine.html")
    assert (status, "Nothing refuses this cohort." in target.read_text(encoding="utf-8")) == (Status.DONE, True)
    status, target = check(_broken(tmp_path), "broken.json")
    assert (status, json.loads(target.read_text(encoding="utf-8"))["cohort"]) == (Status.REFUSED, None)
    assert check(CHILDREN, "report.pdf")[0] == Status.WRONG_USE
    assert "Traceback" not in capsys.readouterr().err
