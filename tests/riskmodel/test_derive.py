"""Derived columns: what each operation gives, what empty sources give, and what a protocol may not ask for."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel import derive, dictionary
from riskmodel.cases.table import CaseTable, Floats, State, column
from riskmodel.derive import Derivation
from riskmodel.dictionary.model import Dictionary, Kind, Moment

CVJ = dictionary.read("cvj")

OCCIPUT = Derivation("includes_occiput", "equals", ("upper_level",), "O")
SEGMENTS = Derivation("n_segments", "level_difference", ("lower_level", "upper_level"))

SMALL = """
format = 1
name = "small"
version = "1"
[variable.gap]
label = "Gap"
kind = "number"
unit = "mm"
moment = "imaging"
sides = "gap_{side}_mm"
centre = 2
scale = 2
resolution = 0.1
states = ["not_measurable"]
[variable.age]
label = "Age"
kind = "number"
unit = "years"
moment = "clinic"
[variable.sites]
label = "Sites"
kind = "flags"
moment = "plan"
levels = [{ code = "a", label = "A" }, { code = "b", label = "B" }, { code = "c", label = "C" }]
[variable.smokes]
label = "Smokes"
kind = "yes_no"
moment = "clinic"
"""


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Dictionary:
    path: Path = tmp_path_factory.mktemp("small") / "small.toml"
    path.write_text(SMALL)
    return dictionary.read(path)


def _gaps(right: list[float], left: list[float]) -> CaseTable:
    keys = tuple(f"k{n}" for n in range(len(right)))
    return CaseTable(keys, {"gap_right_mm": column(right), "gap_left_mm": column(left)})


def _made(cases: CaseTable, operation: str, small: Dictionary, level: str | None = None, *of: str) -> Floats:
    sources = of or ("gap_right_mm", "gap_left_mm")
    return derive.apply(cases, [Derivation("made", operation, sources, level)], small)["made"].values


@pytest.mark.parametrize(
    ("operation", "value"),
    [("min", 2.0), ("max", 5.0), ("mean", 3.5), ("abs_difference", 3.0), ("difference", -3.0), ("ratio", 0.4)],
)
def test_each_operation_gives_its_number(operation: str, value: float, small: Dictionary) -> None:
    assert _made(_gaps([2.0], [5.0]), operation, small)[0] == value


NUMBERS = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=6)


@given(right=NUMBERS, data=st.data())
def test_the_operations_agree_with_each_other(right: list[float], data: st.DataObject, small: Dictionary) -> None:
    left = data.draw(st.lists(st.floats(-1e6, 1e6), min_size=len(right), max_size=len(right)))
    cases = _gaps(right, left)
    low, high, mean = (_made(cases, name, small) for name in ("min", "max", "mean"))
    np.testing.assert_array_equal(high - low, _made(cases, "abs_difference", small))
    np.testing.assert_array_equal(np.abs(_made(cases, "difference", small)), _made(cases, "abs_difference", small))
    np.testing.assert_allclose(mean, (low + high) / 2, rtol=1e-12, atol=1e-9)


def _levels(upper: list[str], lower: list[str]) -> CaseTable:
    codes = CVJ.variables["upper_level"].codes
    held = {
        name: column([codes.index(code) for code in of])
        for name, of in (("upper_level", upper), ("lower_level", lower))
    }
    return CaseTable(tuple(map(str, range(len(upper)))), held)


def test_levels_count_segments_and_tell_whether_the_occiput_is_in() -> None:
    """O to C2 spans 2 segments, C1 to C2 one, O to T3 ten: two neighbours make one segment (common practice)."""
    cases = derive.apply(_levels(["O", "C1", "O"], ["C2", "C2", "T3"]), [OCCIPUT, SEGMENTS], CVJ)
    assert list(cases["includes_occiput"].values) == [1.0, 0.0, 1.0]
    assert list(cases["n_segments"].values) == [2.0, 1.0, 10.0]


def test_a_level_may_be_compared_with_a_fixed_one() -> None:
    held = derive.apply(_levels(["O"], ["C4"]), [Derivation("below", "level_difference", ("lower_level",), "C2")], CVJ)
    assert held["below"].values[0] == 2.0


def test_flags_are_counted_and_asked_for_one(small: Dictionary) -> None:
    cases = CaseTable(tuple("1234"), {"sites": column([0.0, 1.0, 7.0, np.nan])})
    np.testing.assert_array_equal(_made(cases, "count", small, None, "sites"), [0, 1, 3, np.nan])
    np.testing.assert_array_equal(_made(cases, "equals", small, "c", "sites"), [0, 0, 1, np.nan])


def test_yes_and_no_can_be_asked_for(small: Dictionary) -> None:
    cases = CaseTable(tuple("12"), {"smokes": column([0.0, 1.0])})
    assert list(_made(cases, "equals", small, "no", "smokes")) == [1.0, 0.0]


WORDS = list(State)


@pytest.mark.parametrize("right", WORDS)
@pytest.mark.parametrize("left", WORDS)
@pytest.mark.parametrize("operation", ["min", "difference", "mean"])
def test_empty_sources_leave_the_word_that_says_least(
    right: State, left: State, operation: str, small: Dictionary
) -> None:
    says_least = [State.MISSING, State.NOT_TESTED, State.NOT_MEASURABLE, State.NOT_APPLICABLE, State.PRESENT]
    held = {
        "gap_right_mm": column([1.0], [right]),
        "gap_left_mm": column([1.0], [left]),
    }
    made = derive.apply(CaseTable(("k",), held), [Derivation("made", operation, tuple(held))], small)["made"]
    assert made.states[0] == min(right, left, key=says_least.index)
    assert np.isnan(made.values[0]) == (made.states[0] != State.PRESENT)


def test_a_source_that_is_not_there_is_missing(small: Dictionary) -> None:
    cases = CaseTable(("k",), {"gap_right_mm": column([1.0])})
    assert derive.apply(cases, [Derivation("made", "min", ("gap_right_mm", "gap_left_mm"))], small)["made"].missing[0]


def test_a_ratio_to_nothing_cannot_be_measured(small: Dictionary) -> None:
    made = derive.apply(
        _gaps([1.0, 0.0], [0.0, 0.0]), [Derivation("made", "ratio", ("gap_right_mm", "gap_left_mm"))], small
    )
    assert list(made["made"].states) == [State.NOT_MEASURABLE] * 2


def test_a_later_derivation_may_use_an_earlier_one(small: Dictionary) -> None:
    steps = [
        Derivation("worst", "max", ("gap_right_mm", "gap_left_mm")),
        Derivation("share", "ratio", ("worst", "gap_left_mm")),
    ]
    assert not derive.problems(steps, small)
    assert derive.apply(_gaps([6.0], [2.0]), steps, small)["share"].values[0] == 3.0


def test_words_and_units_follow_from_the_sources(small: Dictionary) -> None:
    steps = [
        Derivation("worst", "max", ("gap_right_mm", "gap_left_mm")),
        Derivation("skew", "abs_difference", ("gap_right_mm", "gap_left_mm")),
        Derivation("share", "ratio", ("gap_right_mm", "gap_left_mm")),
        Derivation("at_b", "equals", ("sites",), "b"),
    ]
    made = derive.describe(steps, small)
    assert made["worst"].label == "Greatest of: Gap, right; Gap, left"
    assert (made["worst"].unit, made["worst"].centre, made["worst"].scale) == ("mm", 2.0, 2.0)
    assert (made["skew"].unit, made["skew"].centre, made["skew"].scale) == ("mm", 0.0, 2.0)
    assert (made["share"].unit, made["share"].scale) == ("", 1.0)
    assert (made["at_b"].kind, made["at_b"].label, made["at_b"].moment) == (Kind.YES_NO, "Sites: B", Moment.PLAN)
    assert made["worst"].states == ("not_measurable",)


def test_the_dictionarys_own_words_lead_but_not_its_moment() -> None:
    made = derive.describe([OCCIPUT, SEGMENTS], CVJ)
    assert made["n_segments"].label == CVJ.variables["n_segments"].label
    assert made["n_segments"].hard == (1.0, 14.0)
    late = Derivation("includes_occiput", "equals", ("done_upper_level",), "O")
    assert derive.describe([late], CVJ)["includes_occiput"].moment is Moment.THEATRE


def test_an_extended_dictionary_knows_the_derived_variables(small: Dictionary) -> None:
    steps = [Derivation("worst", "max", ("gap_right_mm", "gap_left_mm"))]
    held = derive.extended(small, steps)
    assert list(held.variables) == [*small.variables, "worst"]
    assert held.digest != small.digest
    assert dictionary.from_document(dictionary.to_document(held)) == held


BAD = {
    "a bad name": (Derivation("a b", "min", ("gap_right_mm",)), "name", "a letter first"),
    "no operation": (Derivation("x", "mxa", ("gap_right_mm",)), "operation", "max (the nearest"),
    "no source": (Derivation("x", "max", ("gap_right",)), "of", "gap_right_mm (the nearest"),
    "nothing": (Derivation("x", "max", ()), "of", "1 to 20 for max"),
    "too many": (Derivation("x", "ratio", ("age", "age", "age")), "of", "2 for ratio"),
    "mixed units": (Derivation("x", "difference", ("age", "gap_left_mm")), "of", "variables in one unit"),
    "words for numbers": (Derivation("x", "max", ("smokes",)), "of", "number or integer or ordinal for max"),
    "a level too many": (Derivation("x", "max", ("age",), "b"), "level", "no level with max"),
    "a level too few": (Derivation("x", "equals", ("sites",)), "level", "of one variable with a level"),
    "no such level": (Derivation("x", "equals", ("sites",), "d"), "level", "one of a, b, c"),
    "different levels": (Derivation("x", "equals", ("sites", "smokes")), "of", "the same levels"),
    "a name that is something else": (
        Derivation("smokes", "max", ("age",)),
        "name",
        "another name, or the kind number",
    ),
}


@pytest.mark.parametrize("fault", BAD)
def test_a_bad_derivation_is_one_error_at_its_place(fault: str, small: Dictionary) -> None:
    derivation, key, words = BAD[fault]
    sound = Derivation("worst", "max", ("gap_right_mm", "gap_left_mm"))
    (finding,) = derive.problems([sound, derivation], small, "p.toml")
    assert (finding.sheet, finding.column) == ("p.toml", f"derive[2].{key}")
    assert words in finding.accepted


def test_a_name_twice_is_an_error(small: Dictionary) -> None:
    step = Derivation("x", "max", ("age",))
    (finding,) = derive.problems([step, step], small)
    assert finding.found == "x for the second time"


def _told(cases: CaseTable, *steps: Derivation) -> list[tuple[str, int | None, str]]:
    findings = derive.contradictions(cases, steps, CVJ, "children", range(2, 2 + len(cases)))
    return [(finding.rule, finding.row, finding.found) for finding in findings]


def test_a_lowest_level_above_the_highest_cannot_be_true() -> None:
    told = _told(_levels(["C3", "O", "C1"], ["C1", "T4", "C2"]), SEGMENTS)
    assert told == [
        ("outside_hard", 2, "-2, from lower_level, upper_level"),
        ("outside_soft", 3, "11, from lower_level, upper_level"),
    ]


def test_a_table_that_tells_a_derived_column_otherwise_is_found() -> None:
    cases = _levels(["O", "C1", "O"], ["C2", "C2", "C2"])
    given = cases.with_columns({"includes_occiput": column([1.0, 1.0, np.nan])})
    assert _told(given, OCCIPUT) == [("derived_disagrees", 3, "yes, but no from upper_level")]
    assert _told(cases, OCCIPUT) == []
