"""A dictionary is read whole or refused with everything that is wrong."""

from pathlib import Path

import pytest

from riskmodel import dictionary
from riskmodel.dictionary.model import FoundBy, Kind, Moment, Role
from riskmodel.errors import DictionaryRefused

HEAD = 'format = 1\nname = "small"\nversion = "1"\n'

AGE = '[variable.age]\nlabel = "Age"\nkind = "number"\nmoment = "clinic"\n'
GROUP = (
    '[variable.group]\nlabel = "Group"\nkind = "level"\nmoment = "clinic"\n'
    'levels = [{ code = "a", label = "A" }, { code = "b", label = "B" }]\n'
)
SEEN = (
    '[variable.last_scan_months]\nlabel = "Scan"\nkind = "number"\nunit = "months"\nmoment = "follow_up"\n'
    'role = "seen_until"\nfinds = ["scan"]\n'
    '[variable.last_contact_months]\nlabel = "Contact"\nkind = "number"\nunit = "months"\nmoment = "follow_up"\n'
    'role = "seen_until"\nfinds = ["theatre", "clinic"]\n'
)
EVENTS = '[event.broken]\nlabel = "Broken"\n[event.death]\nlabel = "Death"\n'
OUTCOME = (
    '[outcome.failure]\nlabel = "Failure"\nfirst_of = ["broken"]\ncompetes = ["death"]\n'
    'seen_until = "last_scan"\nfound_by = "scan"\n'
)


def _read(folder: Path, text: str) -> dictionary.Dictionary:
    path = folder / "small.toml"
    path.write_text(text, encoding="utf-8")
    return dictionary.read(path)


def _refused(folder: Path, text: str) -> tuple[str, ...]:
    with pytest.raises(DictionaryRefused) as refused:
        _read(folder, text)
    return tuple(f"{finding.rule}: {finding}" for finding in refused.value.findings)


def test_a_sound_dictionary_holds_what_the_file_says(tmp_path: Path) -> None:
    held = _read(tmp_path, HEAD + AGE + 'unit = "years"\nhard = [0, 25]\n' + GROUP + SEEN + EVENTS + OUTCOME)
    age, outcome = held.variables["age"], held.outcomes["failure"]
    assert (held.name, held.version) == ("small", "1")
    assert (age.kind, age.moment, age.unit, age.hard, age.role) == (
        Kind.NUMBER,
        Moment.CLINIC,
        "years",
        (0.0, 25.0),
        Role.PREDICTOR,
    )
    assert held.variables["group"].codes == ("a", "b")
    assert (outcome.first_of, outcome.competes, outcome.found_by) == (("broken",), ("death",), FoundBy.SCAN)


def test_an_event_and_an_outcome_are_columns_of_status_and_months(tmp_path: Path) -> None:
    held = _read(tmp_path, HEAD + SEEN + EVENTS + OUTCOME)
    for name in ("failure", "broken", "death"):
        status, months = held.variables[name], held.variables[f"{name}_months"]
        assert status.codes == ("no", "yes", "unknown")
        assert (months.kind, months.unit, months.role) == (Kind.NUMBER, "months", Role.EVENT)


def test_sides_are_written_out_right_first(tmp_path: Path) -> None:
    gap = '[variable.gap]\nlabel = "Gap"\nkind = "number"\nunit = "mm"\nmoment = "imaging"\nsides = "gap_{side}_mm"\n'
    held = _read(tmp_path, HEAD + gap)
    assert list(held.variables) == ["gap_right_mm", "gap_left_mm"]
    right = held.variables["gap_right_mm"]
    assert (right.side, right.label, right.sides) == ("right", "Gap, right", "gap_{side}_mm")


def test_a_plan_has_its_deed_known_from_the_theatre_on(tmp_path: Path) -> None:
    plan = '[variable.rod]\nlabel = "Rod"\nkind = "yes_no"\nmoment = "plan"\ndeed = "done_rod"\ncore = true\n'
    held = _read(tmp_path, HEAD + plan)
    planned, done = held.variables["rod"], held.variables["done_rod"]
    assert (planned.moment, planned.deed, planned.core) == (Moment.PLAN, "done_rod", True)
    assert (done.moment, done.deed, done.core) == (Moment.THEATRE, None, False)


def test_sides_and_deed_together_give_four_columns(tmp_path: Path) -> None:
    plan = (
        '[variable.spacer]\nlabel = "Spacer"\nkind = "number"\nunit = "mm"\nmoment = "plan"\n'
        'sides = "spacer_{side}_mm"\ndeed = "done_spacer_{side}_mm"\n'
    )
    held = _read(tmp_path, HEAD + plan)
    assert list(held.variables) == [
        "spacer_right_mm",
        "spacer_left_mm",
        "done_spacer_right_mm",
        "done_spacer_left_mm",
    ]
    assert held.variables["spacer_left_mm"].deed == "done_spacer_left_mm"


def test_levels_are_shared_without_their_groups(tmp_path: Path) -> None:
    fruit = GROUP.replace("variable.group", "variable.fruit").replace('label = "A" }', 'label = "A", group = "a" }')
    fruit = fruit.replace('label = "B" }', 'label = "B", group = "b" }') + 'grouped_by = "group"\n'
    second = '[variable.{}]\nlabel = "L"\nkind = "level"\nmoment = "clinic"\nlevels_of = "{}"\n'
    held = _read(tmp_path, HEAD + EVENTS + GROUP + fruit + second.format("x", "fruit") + second.format("y", "events"))
    assert [(level.code, level.group) for level in held.variables["x"].levels] == [("a", None), ("b", None)]
    assert held.variables["y"].codes == ("broken", "death")


FAULTS = {
    "unknown_key": (AGE + 'uint = "years"', "variable.age: found the unknown key uint; accepted: unit (the nearest"),
    "bad kind": (AGE.replace("number", "numbr"), "unknown_word: error: small.toml, column variable.age.kind"),
    "missing_key": (AGE.replace('label = "Age"\n', ""), "missing_key: error: small.toml, column variable.age.label"),
    "inverted hard": (AGE + "hard = [25, 0]", "bad_range"),
    "soft outside": (AGE + "hard = [0, 18]\nsoft = [0, 20]", "soft_outside_hard: error"),
    "infinite": (AGE + "centre = inf", "wrong_type"),
    "scale of 0": (AGE + "scale = 0", "found 0; accepted: a number above 0"),
    "true is no number": (AGE + "centre = true", "wrong_type"),
    "bad state": (AGE + 'states = ["unknown"]', "not_measurable, not_applicable, not_tested"),
    "levels on a number": (AGE + 'levels = [{ code = "a", label = "A" }]', "levels_on_numbers"),
    "no levels": (GROUP.split("levels")[0], "too_few_levels"),
    "one code twice": (GROUP.replace('code = "b"', 'code = "a"'), "duplicate_code: error"),
    "a code with a plus": (GROUP.replace('code = "b"', 'code = "b+c"'), "bad_code"),
    "a code that means empty": (GROUP.replace('code = "b"', 'code = "not_tested"'), "bad_code"),
    "range on words": (GROUP + "hard = [0, 1]", "range_on_words"),
    "monotone on words": (GROUP + 'monotone = "rises"', "monotone_on_words"),
    "monotone how": (AGE + 'monotone = "up"', "accepted: one of rises, falls"),
    "ordinal of nothing": (AGE.replace("number", "ordinal"), "too_few_levels"),
    "groups without a variable": (GROUP.replace('label = "A" }', 'label = "A", group = "x" }'), "grouped_by"),
    "grouped by nothing": (GROUP + 'grouped_by = "grp"', "groups: error"),
    "sides without side": (AGE + 'sides = "age_both"', "bad_sides"),
    "unknown table": (AGE + 'table = "screw"', "one of children, sides"),
    "a name that is none": (AGE.replace("variable.age", 'variable."a ge"'), "bad_name"),
    "a surname": (AGE.replace("variable.age", "variable.surname"), "identifier_name"),
    "a key that is a number": (AGE + 'role = "key"', "kind_of_role"),
    "follow-up in years": (SEEN.replace('unit = "months"', 'unit = "years"', 1), "NAME_months in months"),
    "follow-up that vouches for nothing": (SEEN.replace('finds = ["scan"]\n', ""), "variable.last_scan_months.finds"),
    "a date without a year": (
        '[variable.operation_date]\nlabel = "D"\nkind = "date"\nmoment = "theatre"\nrole = "date"',
        "operation_year, which keeps the year",
    ),
    "a norm upside down": (AGE + 'norms = [{ text = "t", low = 3, high = 2 }]', "bad_range"),
    "a norm that could not be true": (AGE + 'hard = [0, 9]\nnorms = [{ text = "t", high = 12 }]', "a published 12"),
    "levels of nothing": (GROUP.split("levels")[0] + 'levels_of = "grp"', "levels_of: error"),
    "levels twice": (GROUP + GROUP.replace(".group", ".other") + 'levels_of = "group"', "levels_of: error"),
    "a norm without its source": (AGE + 'norms = [{ text = "t", source = "smith_1999" }]', "unknown_source"),
    "an event that is not there": (SEEN + EVENTS + OUTCOME.replace('"broken"', '"brokn"'), "accepted: broken (the"),
    "no event": (SEEN + EVENTS + OUTCOME.replace('["broken"]', "[]"), "no_event"),
    "competes with itself": (SEEN + EVENTS + OUTCOME.replace('["death"]', '["broken"]'), "competes_with_itself"),
    "never and always": (SEEN + EVENTS + OUTCOME + 'never_counts = ["broken"]', "never_and_always"),
    "no follow-up of that name": (SEEN + EVENTS + OUTCOME.replace("last_scan", "last_sacn"), "unknown_follow_up"),
    "no way of finding": (SEEN + EVENTS + OUTCOME.replace('found_by = "scan"', ""), "outcome.failure.found_by"),
    "one name for two things": (
        SEEN + EVENTS + OUTCOME.replace("outcome.failure", "outcome.death").replace('competes = ["death"]', ""),
        "duplicate_name",
    ),
    "two variables, one column": (AGE + GROUP.replace("variable.group", "variable.x") + 'deed = "age"', "duplicate"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_named_with_what_is_accepted(fault: str, tmp_path: Path) -> None:
    text, words = FAULTS[fault]
    told = _refused(tmp_path, HEAD + text)
    assert any(words in line for line in told), told
    assert len(told) == 1, told


@pytest.mark.parametrize(
    ("seen_until", "found_by", "accepted"),
    [("last_contact", "scan", "last_scan"), ("last_scan", "theatre", "last_contact")],
)
def test_an_outcome_is_never_followed_crosswise(seen_until: str, found_by: str, accepted: str, tmp_path: Path) -> None:
    outcome = OUTCOME.replace('"last_scan"', f'"{seen_until}"').replace('"scan"', f'"{found_by}"')
    (told,) = _refused(tmp_path, HEAD + SEEN + EVENTS + outcome)
    assert told.startswith("wrong_follow_up")
    assert told.endswith(f"accepted: {accepted}")


def test_every_fault_of_every_file_is_said_at_once(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(HEAD + AGE + "hard = [9, 1]\nsofd = [1, 2]", encoding="utf-8")
    (tmp_path / "b.toml").write_text('format = 2\nversion = "2"\n' + AGE + "scale = -1", encoding="utf-8")
    with pytest.raises(DictionaryRefused) as refused:
        dictionary.read(tmp_path)
    rules = {(finding.sheet, finding.rule) for finding in refused.value.findings}
    assert rules == {
        ("a.toml", "bad_range"),
        ("a.toml", "unknown_key"),
        ("b.toml", "format"),
        ("b.toml", "two_heads"),
        ("b.toml", "duplicate_name"),
    }


def test_a_folder_needs_its_name_once(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text("format = 1\n" + AGE, encoding="utf-8")
    with pytest.raises(DictionaryRefused, match=r"(?s)name = .* in one of the files.*version = "):
        dictionary.read(tmp_path)
    (tmp_path / "b.toml").write_text(HEAD + GROUP, encoding="utf-8")
    assert list(dictionary.read(tmp_path).variables) == ["age", "group"]


def test_a_relative_path_starts_from_the_protocols_folder(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(HEAD + AGE, encoding="utf-8")
    assert dictionary.read("mine.toml", tmp_path).name == "small"
    with pytest.raises(DictionaryRefused, match=r"a shipped name \(cvj\), a \.toml file, or a folder"):
        dictionary.read("mine.toml", tmp_path / "elsewhere")


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"format = 1\nname = 'caf\xe9'", "bytes that are not UTF-8"),
        (b"format = ", "no TOML"),
        (b"x = " + b"[" * 5000, "no TOML"),
        (b"#" * (4 * 2**20 + 1), "a file over 4 MiB"),
        (b"", "format = 1"),
        (b"format = true", "found True; accepted: format = 1"),
        (b"format = 1.0", "found 1.0; accepted: format = 1"),
    ],
)
def test_a_file_that_is_no_dictionary_is_refused_in_words(raw: bytes, words: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(raw)
    with pytest.raises(DictionaryRefused, match=words):
        dictionary.read(path)


def test_entries_of_the_wrong_shape_are_refused(tmp_path: Path) -> None:
    told = _refused(tmp_path, HEAD + 'variable = "age"\nevent = { death = 1 }\noutcome = []\nvariabel = 1\n')
    assert [line.split(":")[0] for line in told] == ["wrong_type", "wrong_type", "wrong_type", "unknown_key"]
