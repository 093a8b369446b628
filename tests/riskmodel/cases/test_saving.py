"""A saved case file is the case."""

from hypothesis import given
from hypothesis import strategies as st

from riskmodel.cases import case_file_text, parse_case_file
from riskmodel.tables import Cell, as_text

# What a form can send: any text that UTF-8 can hold.
TEXTS = st.text(st.characters(codec="utf-8"))
NUMBERS = st.floats(allow_nan=False, allow_infinity=False).map(as_text) | st.integers(-(10**30), 10**30).map(str)


@given(case_id=TEXTS, values=st.dictionaries(TEXTS, TEXTS | NUMBERS))
def test_what_is_saved_is_read_back_as_the_same_texts(case_id: str, values: dict[str, str]) -> None:
    held = parse_case_file(case_file_text(case_id, values).encode())
    assert held.case_id == (case_id.strip() or "case")
    trimmed = {name: text.strip() for name, text in values.items()}
    assert {name: as_text(value) for name, value in held.values.items()} == trimmed  # type: ignore[arg-type]


def test_numbers_are_written_as_numbers_and_codes_as_texts() -> None:
    values: dict[str, Cell] = {
        "a": "9.2",
        "b": "-3",
        "c": "007",
        "d": "1e5",
        "e": "not_measurable",
        "f": "1.50",
        "g": True,
        "h": None,
    }
    held = parse_case_file(case_file_text("x", values).encode()).values
    assert held == {"a": 9.2, "b": -3, "c": "007", "d": "1e5", "e": "not_measurable", "f": "1.50", "g": "yes", "h": ""}
