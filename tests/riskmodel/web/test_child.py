"""The child's page: the form, and answers that belong to the values beside them."""

import re
from datetime import date
from pathlib import Path

import pytest

from riskmodel import dictionary
from riskmodel.cases import parse_case_file
from riskmodel.errors import CasesRefused
from riskmodel.scoring import Scorer
from riskmodel.web import models, steps
from riskmodel.web.desk import MOST_CASES
from riskmodel.web.told import between
from tests.riskmodel.web.cases import content, typed
from tests.riskmodel.web.client import ON, Client, client, demonstration_models
from training import cohort as cohorts
from training import protocol as protocols
from training.fitting import fit


@pytest.fixture
def inside() -> Client:
    return client().let_in()


def ranges(text: str) -> list[str]:
    return re.findall(r'<p class="range">([^<]*)</p>', text)


def test_the_first_answer_asks_for_what_the_models_read_and_at_most_15_fields() -> None:
    held = demonstration_models()
    first = steps.groups(held)[0]
    assert first.names == held.needed
    assert len(first.names) <= 15
    read = {name for scorer in held.scorers for name in scorer.model.recipe.sources}
    assert read <= set(first.names) | {held.dictionary.variables["condition"].grouped_by}


def test_every_variable_known_by_then_is_asked_once_and_none_known_later() -> None:
    held = demonstration_models()
    asked = [name for group in steps.groups(held) for name in group.names]
    assert len(asked) == len(set(asked))
    moments = {held.dictionary.variables[name].moment.value for name in asked}
    assert moments == {"clinic", "imaging", "plan"}
    assert [group.step for group in steps.groups(held) if group.step] == [1, 2, 3, 4, 5, 6, 7]


def test_the_steps_name_variables_of_the_shipped_dictionary_and_place_all_of_them() -> None:
    known = dictionary.read("cvj").variables
    listed, follows = steps._listed()
    names = [name for group in listed for name in group.names]
    assert len(names) == len(set(names))
    assert {*names, *follows} <= set(known)
    assert steps.LAST not in [group.title for group in steps.groups(demonstration_models())]


def test_a_model_of_another_dictionary_gives_another_form() -> None:
    """The open kyphosis data: three numbers, no key, no horizon."""
    folder = Path(__file__).parents[2] / "reference" / "kyphosis"
    held = protocols.read(folder / "kyphosis.toml")
    made = fit(cohorts.read(folder / "kyphosis.csv", held), held, times=5).bundle
    inside = client(models.together([Scorer(made)])).let_in()
    at = inside.new_child({"case_id": "K-1", "Age": "60", "Number": "4", "Start": "10"})
    assert len(ranges(inside.get(f"{at}/child").text)) == 1
    assert re.findall(r'name="(\w+)" value', inside.get(f"{at}/child").text)[:2] == ["update", "case_id"]
    assert "Made from invented data" not in inside.get(f"{at}/child").words
    assert inside.get(f"{at}/estimate").status == 200


@pytest.mark.parametrize("name", ["TW-204", "CM-031", "HS-009"])
def test_the_page_says_what_the_scorer_says(inside: Client, name: str) -> None:
    at = inside.upload("/open", content(name)).header("location")
    shown = []
    for scorer in demonstration_models().scorers:
        values = dict(parse_case_file(content(name)).values)
        answer = scorer.score(values, on=ON)
        if answer.low is not None and answer.high is not None:
            shown.append(between(answer.low, answer.high))
        else:
            assert all(gate.says in inside.get(at).words for gate in answer.gates if gate.blocks and not gate.passed)
    assert ranges(inside.get(at).text) == shown


def test_an_open_child_shows_its_values_in_the_form(inside: Client) -> None:
    at = inside.upload("/open", content("TW-204")).header("location")
    page = inside.get(at).text
    assert re.search(r'name="age_years" value="9.2"', page)
    assert '<option value="down" selected>Down syndrome</option>' in page
    assert '<option value="awake" selected>' in page


def test_invalid_input_strikes_the_old_answer_out_and_mending_it_brings_the_answer_back(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    good = inside.get(f"{at}/child")
    told = inside.post(f"{at}/answer", {**typed("TW-204"), "age_years": "99"}).json
    assert "accepted: a number from 0 to 25 years" in told["messages"]["age_years"]
    assert "For the earlier values" in told["answers"]
    struck = re.search(r"<del>(.*?)</del>", told["answers"], re.DOTALL)
    assert struck is not None
    assert ranges(struck[1]) == ranges(good.text) == ranges(told["answers"])
    assert told["spoken"].startswith("No answer: Age at the operation")
    assert "<del>" in inside.get(f"{at}/child").text  # the page itself says the same, with scripts off
    again = inside.post(f"{at}/answer", typed("TW-204")).json
    assert again["messages"] == {}
    assert "<del>" not in again["answers"]
    assert ranges(again["answers"]) == ranges(good.text)


def test_the_answer_follows_a_field(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    before = inside.post(f"{at}/answer", typed("TW-204")).json
    after = inside.post(f"{at}/answer", {**typed("TW-204"), "upper_level": "O"}).json
    assert ranges(before["answers"]) != ranges(after["answers"])
    assert after["spoken"].count("between") == 2


def test_a_missing_value_says_what_measuring_it_would_buy(inside: Client) -> None:
    at = inside.new_child({**typed("TW-204"), "reduces": ""})
    words = inside.get(f"{at}/child").words
    assert re.search(r"Not known: Reduces: (the range is \d+ wide now, about \d+ with it|the range would stay)", words)


def test_the_number_comes_at_once_and_what_measuring_would_buy_when_it_is_asked_for(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    told = inside.post(f"{at}/answer", {**typed("TW-204"), "reduces": ""}).json
    assert told["more"]
    assert "<li>Reduces</li>" in told["answers"]
    rest = inside.get(f"{at}/answer").json["answers"]
    assert ranges(rest) == ranges(told["answers"])
    assert re.search(r"<li>Reduces: the range (is|would)", rest)
    assert rest.strip() in inside.get(f"{at}/child").text
    assert not inside.post(f"{at}/answer", typed("TW-204")).json["more"]


def test_what_is_derived_from_the_values_is_checked_as_at_the_command_line(inside: Client) -> None:
    """The occiput is said to be included while the highest level is C1: each can be true, the pair cannot."""
    values = {**{name: text for name, text in typed("TW-204").items() if name != "case_id"}, "includes_occiput": "yes"}
    late = b"\n".join([content("TW-204"), b'includes_occiput = "yes"'])
    at = inside.upload("/open", late).header("location")
    page = inside.get(at)
    assert ranges(page.text) == []
    for scorer in demonstration_models().scorers:
        with pytest.raises(CasesRefused) as refused:
            scorer.read_case(values)
        assert refused.value.findings[0].found in page.words


def test_an_unusual_value_is_asked_about_until_it_is_confirmed_and_again_when_it_changes(inside: Client) -> None:
    values = {**typed("TW-204"), "adi_mm": "18"}
    at = inside.new_child(values)
    asked = inside.get(f"{at}/child")
    assert "Unusual: usually -3 to 15 mm: please confirm" in asked.words
    assert "To be confirmed: Atlantodental interval, neutral" in asked.words
    assert len(ranges(asked.text)) == 2
    confirmed = inside.post(f"{at}/answer", {**values, "confirm": "adi_mm"}).json
    assert "To be confirmed" not in confirmed["answers"]
    assert " checked" in confirmed["messages"]["adi_mm"]
    changed = inside.post(f"{at}/answer", {**values, "adi_mm": "19"}).json
    assert "To be confirmed" in changed["answers"]


def test_the_kinds_of_empty_are_words_and_a_number_beside_one_is_refused(inside: Client) -> None:
    at = inside.new_child({**typed("CM-031"), "open": "21"})
    page = inside.get(f"{at}/child").text
    assert '<option value="not_measurable" selected>not measurable</option>' in page
    both = inside.post(f"{at}/answer", {"adi_mm": "3", "adi_mm.word": "not_measurable"}).json
    assert "Found 3 not_measurable; accepted: a number from -3 to 30 mm or not_measurable" in both["messages"]["adi_mm"]
    word = inside.post(f"{at}/answer", {"adi_mm": "", "adi_mm.word": "not_measurable"}).json
    assert "adi_mm" not in word["messages"]


def test_flags_are_joined_and_none_excludes_the_others(inside: Client) -> None:
    at = inside.new_child({"planned_decompression": ["", "c1_arch", "suboccipital"]})
    assert 'planned_decompression = "c1_arch+suboccipital"' in inside.get(f"{at}/case.toml").text
    both = inside.post(f"{at}/answer", {"planned_decompression": ["", "none", "c1_arch"]}).json
    assert "accepted" in both["messages"]["planned_decompression"]


def test_what_a_form_does_not_show_stays(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    inside.post(f"{at}/answer", {"case_id": "TW-204", "age_years": "10"})
    held = parse_case_file(inside.get(f"{at}/case.toml").body).values
    assert held["age_years"] == 10
    assert held["condition"] == "down"


def test_groups_open_on_demand_and_a_group_with_a_fault_is_open(inside: Client) -> None:
    at = inside.new_child({"age_years": "9"})
    group = next(group for group in steps.groups(demonstration_models()) if "c2_hu" in group.names)
    assert 'name="c2_hu"' not in inside.get(f"{at}/child").text
    inside.post(f"{at}/child", {"open": str(group.number)})
    assert 'name="c2_hu"' in inside.get(f"{at}/child").text
    inside.post(f"{at}/child", {"c2_hu": "oops", "close": str(group.number)})
    assert 'name="c2_hu"' in inside.get(f"{at}/child").text
    inside.post(f"{at}/child", {"c2_hu": "", "close": str(group.number)})
    assert 'name="c2_hu"' not in inside.get(f"{at}/child").text


@pytest.mark.parametrize("number", ["", "-1", "x", "999", "9" * 400, "²"])
def test_a_group_that_is_not_there_opens_nothing(inside: Client, number: str) -> None:
    at = inside.new_child({"age_years": "9"})
    before = inside.get(f"{at}/child").text
    assert inside.post(f"{at}/child", {"open": number}).status == 303
    assert inside.get(f"{at}/child").text == before


def test_a_saved_case_opens_as_the_same_case(inside: Client) -> None:
    at = inside.upload("/open", content("CM-031")).header("location").removesuffix("/child")
    saved = inside.get(f"{at}/case.toml")
    assert saved.header("content-disposition") == 'attachment; filename="case.toml"'
    assert parse_case_file(saved.body) == parse_case_file(content("CM-031"))


def test_a_key_that_points_at_somebody_is_refused_and_not_repeated(inside: Client) -> None:
    at = inside.new_child({**typed("TW-204"), "case_id": "Smith, Jane"})
    told = inside.post(f"{at}/answer", {"case_id": "Smith, Jane"}).json
    assert "looks like a person" in told["messages"]["case_id"]
    assert "Smith" not in told["answers"] + told["messages"]["case_id"]


def test_what_is_known_only_later_takes_the_number_away_until_it_is_left_out(inside: Client) -> None:
    late = content("TW-204") + b"\ndone_upper_level = 'C1'\nrevision = 'no'\n"
    at = inside.upload("/open", late).header("location").removesuffix("/child")
    page = inside.get(f"{at}/child")
    assert ranges(page.text) == []
    assert "holds what is known only later" in page.words
    assert "Also in this case" in page.words
    inside.post(f"{at}/child", {**typed("TW-204"), "leave_out": "1"})
    assert len(ranges(inside.get(f"{at}/child").text)) == 2


def test_a_row_of_the_registry_is_taken_and_what_is_left_out_is_named(inside: Client) -> None:
    names = ("case_id", "age_years", "condition", "Hospital number", "revision", "upper_level")
    row = ("TW-204", "9.2", "down", "943 476 5919", "no", "C1")
    answer = inside.post("/paste", {"row": "\t".join(names) + "\r\n" + "\t".join(row) + "\r\n"})
    page = inside.get(answer.header("location"))
    assert "point at a person: Hospital number" in page.words
    assert "known only later: revision" in page.words
    assert "943 476" not in page.text
    assert 'name="case_id" value="TW-204"' in page.text
    assert "point at a person" not in inside.get(answer.header("location")).words  # said once


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_row_may_be_separated_by_commas_semicolons_or_tabs(inside: Client, mark: str) -> None:
    row = f'case_id{mark}age_years{mark}sex\n"A{mark}1"{mark}9.2{mark}female'
    page = inside.get(inside.post("/paste", {"row": row}).header("location")).text
    assert 'name="age_years" value="9.2"' in page
    assert f'value="A{mark}1"' in page


@pytest.mark.parametrize(
    ("row", "found"),
    [
        ("TW-204\t9.2\tdown", "1 lines"),
        ("a\nb\nc", "3 lines"),
        ("a,b\n1", "2 names and 1 values"),
        ("age_years,age_years\n1,2", "a name that stands there twice"),
    ],
)
def test_what_is_no_row_is_refused_and_given_back(inside: Client, row: str, found: str) -> None:
    answer = inside.post("/paste", {"row": row})
    assert answer.status == 422
    assert f"found {found}; accepted: two lines copied from the registry" in answer.words
    assert row.splitlines()[0] in answer.text


@pytest.mark.parametrize(
    ("file", "found"),
    [
        (b"", "a table [values]"),
        (b"format = 1\ncase_id = 'x'\n", "a table [values]"),
        (b"PK\x03\x04", "no TOML"),
        (b"\xff\xfe", "not a UTF-8 text"),
        (b"format = 1\ncase_id = 'x'\n[values]\nage_years = [1]\n", "found a list"),
    ],
)
def test_what_is_no_case_file_is_refused_with_everything_that_is_wrong(inside: Client, file: bytes, found: str) -> None:
    answer = inside.upload("/open", file)
    assert answer.status == 422
    assert found in answer.words
    assert len(inside.app.state.held.desk) == 0


def test_a_name_that_no_dictionary_knows_is_a_fault_that_can_be_left_out(inside: Client) -> None:
    at = inside.upload("/open", content("TW-204") + b"\nshoe_size = 31\n").header("location").removesuffix("/child")
    assert "shoe_size: Found an unknown column" in inside.get(f"{at}/child").words
    inside.post(f"{at}/child", {**typed("TW-204"), "leave_out": "1"})
    assert len(ranges(inside.get(f"{at}/child").text)) == 2


def test_children_in_hand_are_held_apart_and_put_away(inside: Client) -> None:
    first, second = inside.new_child({"case_id": "AA-1"}), inside.new_child({"case_id": "BB-2"})
    assert "AA-1" in inside.get(f"{first}/child").text
    assert "AA-1" not in inside.get(f"{second}/child").text
    inside.post(f"{first}/put-away")
    assert inside.get(f"{first}/child").status == 404
    assert "BB-2" in inside.get("/").text


def test_of_very_many_children_the_last_are_held() -> None:
    inside = client().let_in()
    first = inside.new_child()
    for _ in range(MOST_CASES):
        inside.new_child()
    assert len(inside.app.state.held.desk) == MOST_CASES
    assert inside.get(f"{first}/child").status == 404


def test_an_answer_of_yesterday_is_given_anew() -> None:
    """A model that has expired overnight gives no number, whatever was answered the evening before."""
    today = [date(2028, 11, 25)]
    inside = client(clock=lambda: today[0]).let_in()
    at = inside.new_child(typed("TW-204"))
    assert len(ranges(inside.get(f"{at}/child").text)) == 2
    today[0] = date(2028, 11, 26)
    page = inside.get(f"{at}/child")
    assert ranges(page.text) == []
    assert "gives no number after that" in page.words


def test_markup_in_a_value_is_text(inside: Client) -> None:
    at = inside.new_child({"case_id": "<b>x</b>", "age_years": "<script>alert(1)</script>"})
    for text in (inside.get(f"{at}/child").text, inside.get("/").text, inside.get(f"{at}/estimate").text):
        assert "<script>alert" not in text
        assert "<b>x</b>" not in text


def test_a_form_without_any_value_asks_for_one(inside: Client) -> None:
    at = inside.new_child()
    assert "No value yet" in inside.get(f"{at}/child").words
    assert "No value yet" in inside.get(f"{at}/estimate").words
