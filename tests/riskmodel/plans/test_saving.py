"""Saved plans are the plans."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.plans import plans_of, read_plans
from riskmodel.plans.saving import plans_text

FOLDER = Path(__file__).parents[3] / "synthetic_cohort" / "demonstration" / "plans"
TEXTS = st.text(st.characters(codec="utf-8"))


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_a_plans_file_is_read_back_as_the_same_document(path: Path) -> None:
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    again = tomllib.loads(plans_text(document))
    assert again == document
    assert plans_of(again).plans == read_plans(path).plans


@given(title=TEXTS, line=TEXTS, rods=st.integers(0, 6), length=st.floats(0.5, 80))
def test_any_text_is_written_as_a_text(title: str, line: str, rods: int, length: float) -> None:
    anchor = {"level": "C1", "side": "left", "kind": "hook", "length_mm": length}
    plan = {"name": "A", "title": title, "upper": "C1", "lower": "C2", "rods": rods, "bmp": False, "anchor": [anchor]}
    document = {"format": 1, "plan": [plan], "decided": {"cord": line}}
    held = tomllib.loads(plans_text(document))
    assert held["plan"] == [plan]
    assert held.get("decided", {"cord": ""}) == {"cord": line}


def test_a_document_without_plans_is_still_a_file() -> None:
    assert tomllib.loads(plans_text({})) == {"format": 1}
