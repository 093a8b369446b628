"""The draft of a map: guesses with their mark, questions where nobody can know, valid TOML in any case."""

import re
import tomllib
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.training.registry.build import ON, book, column, cvj, map_of
from tests.training.registry.test_any_cell import CELL
from training.registry import files
from training.registry.draft import draft_map
from training.registry.draft.lines import Line, literal
from training.registry.sheets import Registry, Sheet
from training.registry.tidying import tidy

HEADERS = (
    "Hosp No", "Patient name", "DOB", "Date of surgery", "Sex", "Dx", "Nurick", "ADI (cm)", "VA", "Levels",
    "Decompression", "Failure", "Date of failure", "Revised", "Status", "Last CT", "Last seen", "Surgeon",
    "Notes", "Odd one",
)  # fmt: skip
ROWS = [
    (101, "A B", "12/03/2009", "1/5/2018", "F", "T21", 1, 0.95, "R hrva L normal", "C1-2", "fmd+c1", "N", None, "N",
     "alive 2018", "Mar 2021", "3/4/2021", "XX", "a long remark about the child", 3),
    (102, "C D", "25/12/2010", "13/6/2019", "M", "DS", 2, "<0.2", "bilat normal", "Oc-C2", "no", "Y", "14/06/2020", "N",
     "alive", "25/1/2022", "25/1/2022", "XX", None, 4),
    ("Total", None),
]  # fmt: skip


def _draft(folder: Path) -> str:
    path = book(folder / "registry.xlsx", {"CVJ list": [("List of the unit",), HEADERS, *ROWS]})
    return draft_map(files.read(path), cvj())


def _answered(text: str) -> str:
    """As a fellow would: every question answered, every mark taken off."""
    for asked, answer in (
        ('centre_id = "?"', 'centre_id = "TW"'),
        ('ds = "?"', 'ds = "down"'),
        ('to = "?"', 'not_carried = "not_needed"'),
    ):
        assert asked in text, asked
        text = text.replace(asked, answer)
    return re.sub(r"\s*# check.*", "", text)


def test_every_guess_bears_its_mark(tmp_path: Path) -> None:
    draft = _draft(tmp_path)
    certain = ("format", "dictionary", "name", "reads", "flag")
    lines = [line for line in draft.splitlines() if " = " in line and not line.startswith("#")]
    assert [line for line in lines if "# check" not in line and line.split(" = ")[0] not in certain] == []


def test_what_is_guessed(tmp_path: Path) -> None:
    (sheet,) = tomllib.loads(_draft(tmp_path))["sheet"]
    columns = sheet["column"]
    assert sheet["header_rows"] == [2]
    assert (sheet["skip_words"], sheet["keys"]) == (["total"], "new")
    assert columns["Hosp No"]["to"] == "case_id"
    assert columns["Patient name"] == {"not_carried": "identifier"}
    assert columns["DOB"] == {"to": "age_years", "reads": "birth_date", "order": "day_first"}
    assert columns["ADI (cm)"] == {"to": "adi_mm", "unit": "cm", "below": "value"}
    assert columns["VA"]["to"] == ["artery_right", "artery_left"]
    assert columns["Levels"] == {
        "to": ["upper_level", "lower_level"],
        "reads": "span",
        "bare": "C",
        "codes": {"oc": "O"},
    }
    assert columns["Decompression"]["codes"] == {"fmd": "foramen_magnum", "c1": "c1_arch", "no": "none"}
    assert columns["Dx"]["codes"] == {"t21": "down", "ds": "?"}
    assert columns["Status"]["as_of"] == "in_cell"
    assert columns["Last CT"]["month_only"] == "middle"
    assert columns["Notes"] == {"not_carried": "free_text"}
    assert columns["Odd one"] == {"to": "?"}


def test_a_draft_that_was_answered_tidies(tmp_path: Path) -> None:
    text = _answered(_draft(tmp_path))
    held = tidy(files.read(tmp_path / "registry.xlsx"), map_of(tmp_path, text), cvj(), on=ON)
    assert column(held, "case_id") == ["K001", "K002"]
    assert column(held, "age_years") == ["9.1", "8.5"]
    assert column(held, "adi_mm") == ["9.5", "2"]
    assert column(held, "upper_level") == ["C1", "O"]
    assert column(held, "planned_decompression") == ["foramen_magnum+c1_arch", "none"]
    assert column(held, "artery_right") == ["high_riding", "usual"]
    assert column(held, "centre_id") == ["TW", "TW"]


def test_operations_are_seen_from_keys_that_repeat(tmp_path: Path) -> None:
    head = ("No", "Date of surgery", "Operation type", "ADI")
    rows = [(1, "2019-04-03", "index", 4), (1, "2020-04-03", "redo", None), (2, "2019-04-03", "rare thing", 5)]
    path = book(tmp_path / "registry.xlsx", {"Ops": [head, *rows]})
    (sheet,) = tomllib.loads(draft_map(files.read(path), cvj()))["sheet"]
    assert sheet["rows"] == "operations"
    later = sheet["later_operations"]
    assert (later["column"], later["without"]) == ("Operation type", "?")
    assert later["codes"] == {"index": "nothing", "redo": "revision"}
    assert "Operation type" not in sheet["column"]


def test_a_header_that_nobody_knows_may_be_declared(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"R": [("Nummer", "Größe"), (1, 100)], "S": [("No", "ADI"), (1, 4)]})
    registry = files.read(path)
    assert 'name = "R"\nleave_out = true' in draft_map(registry, cvj())
    declared = tomllib.loads(draft_map(registry, cvj(), header_rows={"R": (1,)}))
    assert set(declared["sheet"][0]["column"]) == {"Nummer", "Größe"}


def test_a_date_without_its_event_asks_what_an_empty_cell_means(tmp_path: Path) -> None:
    head = ("No", "Date of surgery", "Date revised")
    path = book(tmp_path / "registry.xlsx", {"R": [head, (1, "2019-04-03", None)]})
    revised = tomllib.loads(draft_map(files.read(path), cvj()))["sheet"][0]["column"]["Date revised"]
    assert (revised["when_filled"], revised["when_empty"]) == ({"revision": "yes"}, {"revision": "?"})


def test_two_columns_for_one_variable_leave_the_second_open(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"R": [("No", "ADI", "aadi"), (1, 4, 5)]})
    columns = tomllib.loads(draft_map(files.read(path), cvj()))["sheet"][0]["column"]
    assert (columns["ADI"]["to"], columns["aadi"]["to"]) == ("adi_mm", "?")


@given(st.text(), st.one_of(st.text(), st.integers(), st.booleans(), st.lists(st.text())))
def test_every_line_is_toml(key: str, value: str | int | bool | list[str]) -> None:
    read = tomllib.loads(Line(key or "k", value).text())
    assert list(read) == [(key or "k").replace("\x7f", "")]
    if not isinstance(value, str | list):
        assert list(read.values()) == [value]


@given(st.text())
def test_texts_come_back_from_toml(text: str) -> None:
    assert tomllib.loads(f"a = {literal(text)}")["a"] == text.replace("\x7f", "")


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(CELL, max_size=6), max_size=6))
def test_whatever_stands_in_the_cells_the_draft_is_toml(rows: list[list[object]]) -> None:
    head = ("No", "ADI", "Dx", "Levels", "VA", "Last seen")
    sheet = Sheet("R", (head, *(tuple(row) for row in rows)))  # type: ignore[arg-type]
    held = tomllib.loads(draft_map(Registry("r.xlsx", {"R": sheet}), cvj()))
    assert set(held["sheet"][0]["column"]) == set(head)
