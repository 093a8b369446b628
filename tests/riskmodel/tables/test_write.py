"""What we write as CSV is read back as it was, and no spreadsheet program takes it for a formula."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel import tables

ANY = st.text(st.characters(codec="utf-8", exclude_characters="\0\r\n"), max_size=12)
GUARDED = st.text("'=+-@ab", max_size=4)
TEXTS = st.one_of(ANY, GUARDED).map(str.strip)


@pytest.mark.parametrize("text", ["=1+1", "+44", "-usual", "@name", "\tx"])
def test_a_formula_sign_gets_an_apostrophe(text: str, tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    tables.write_csv(path, ["a"], [[text]])
    with path.open(newline="", encoding="utf-8") as stream:
        assert list(csv.reader(stream)) == [["a"], [f"'{text}"]]


def test_a_negative_number_stays_a_number(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    tables.write_csv(path, ["a", "b", "c", "d"], [[-3.0, 2.5, None, True]])
    assert path.read_text(encoding="utf-8") == "a,b,c,d\n-3,2.5,,yes\n"


@given(rows=st.lists(st.lists(TEXTS, min_size=2, max_size=2), min_size=1, max_size=5))
def test_text_comes_back_as_it_went(rows: list[list[str]], tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("csv") / "t.csv"
    tables.write_csv(path, ["a", "b"], rows)
    (held,) = tables.read(path)
    assert [list(map(tables.as_text, row)) for row in held.rows] == [row for row in rows if any(row)]
