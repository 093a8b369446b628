"""The planning page says what the planning rules say, of plans that were typed as of plans that were opened."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.datastructures import FormData

from riskmodel import dictionary, plans
from riskmodel.plans.risks import CANNOT_TELL
from riskmodel.web.plan_form import document_of, drafts
from riskmodel.web.planning import opened
from tests import demonstration
from tests.riskmodel.web.cases import content, typed
from tests.riskmodel.web.client import ON, Client, client, demonstration_models

FOLDER = demonstration.FOLDER / "plans"


@pytest.fixture
def inside() -> Client:
    return client().let_in()


def file(name: str) -> bytes:
    return (FOLDER / f"{name}.toml").read_bytes()


def planned(inside: Client, name: str) -> str:
    """Open a child and its plans, and return the path that the child's pages begin with."""
    at = inside.upload("/open", content(name)).header("location").removesuffix("/child")
    assert inside.upload(f"{at}/plans/open", file(name), "plans.toml").status == 303
    paths = demonstration.CASES / f"{name}.corridors.csv"
    if paths.exists():
        assert inside.upload(f"{at}/plans/open", paths.read_bytes(), "paths.CSV").status == 303
    return at


def summary(name: str) -> plans.Summary:
    """The same conference, from files."""
    words = dictionary.read("cvj")
    beside = plans.corridors_beside(demonstration.CASES / f"{name}.toml")
    corridors, found = plans.read_corridors(beside, words, case_id=name) if beside else ((), ())
    values = {key: text for key, text in typed(name).items() if key != "case_id"}
    child, doubts = plans.child_of(values, words, case_id=name, corridors=corridors)
    held = plans.read_plans(FOLDER / f"{name}.toml")
    whole = plans.Conference(child, values, held, plans.read_limits(), plans.read_stock(), (*doubts, *found))
    return plans.summarise(whole, plans.Asking(ON), demonstration_models().scorers)


@pytest.mark.parametrize("name", ["TW-204", "EH-112"])
def test_the_page_holds_everything_of_the_conference(inside: Client, name: str) -> None:
    words = inside.get(f"{planned(inside, name)}/plans").words
    held = summary(name)
    views, steps = held.plans, held.steps
    told = [
        *(part for view in views for part in (f"{view.plan.name}: {view.plan.title}", view.anchors_at_ends)),
        *(f"{odd.found}; accepted: {odd.accepted}" for view in views for odd in view.contradictions),
        *(part for step in steps for part in (step.step.question, *step.not_known)),
        *(prompt.says for step in steps for prompt in step.prompts),
        *(item.name for item in held.kit),
        *(rule.then for rule in held.stop_rules),
        *(thing.what for thing in held.watch),
    ]
    assert [part for part in told if part not in words] == []


def test_a_contradiction_stands_at_the_step_that_it_belongs_to(inside: Client) -> None:
    page = inside.get(f"{planned(inside, 'EH-112')}/plans").text
    steps = re.split(r'<h3><span class="step">', page)[1:]
    for view in summary("EH-112").plans:
        for held in view.contradictions:
            step = steps[held.step.number - 1]
            assert f"plan {view.plan.name}: {held.found}" in step
    assert "odds" not in steps[0]


def test_plans_stand_in_the_order_typed_each_on_a_ladder_seen_from_behind(inside: Client) -> None:
    page = inside.get(f"{planned(inside, 'TW-204')}/plans").text
    titles = re.findall(r"<article class=\"plan\">\s*<h3>(\w+):", page)
    assert titles == [view.plan.name for view in summary("TW-204").plans]
    assert page.count("<svg") == len(titles)
    assert page.count("Seen from behind, the child&#39;s left on the left.") >= len(titles)


def test_between_plans_the_difference_is_shown_and_no_number_of_a_plan_unless_asked_for(inside: Client) -> None:
    at = planned(inside, "TW-204")
    words = inside.get(f"{at}/plans").words
    assert CANNOT_TELL in words
    assert not re.search(r"plan A: between", words)
    inside.post(f"{at}/plans/asked", {"numbers": "yes"})
    assert len(re.findall(r"plan [ABC]: between \d+ and \d+ in 100", inside.get(f"{at}/plans").words)) == 6
    inside.post(f"{at}/plans/asked")
    assert not re.search(r"plan A: between", inside.get(f"{at}/plans").words)


def test_confounded_fields_are_held_the_same_until_they_are_unlocked(inside: Client) -> None:
    at = planned(inside, "TW-204")
    first, second = b'graft = ["iliac_structural"]', b'graft = ["donor_chips"]'
    one, *others = file("TW-204").split(first)
    inside.upload(f"{at}/plans/open", one + first + second.join(others), "plans.toml")
    assert "held the same: graft kind" in inside.get(f"{at}/plans").words
    inside.post(f"{at}/plans/asked", {"unlock": ["graft_kind", "graft_sources", "nonsense"]})
    page = inside.get(f"{at}/plans")
    assert 'value="graft_kind" checked' in page.text
    assert "held the same" not in page.words
    assert "nonsense" not in page.text


def test_a_child_without_plans_has_its_steps_kit_and_watch_list(inside: Client) -> None:
    at = inside.upload("/open", content("HS-009")).header("location").removesuffix("/child")
    words = inside.get(f"{at}/plans").words
    for part in (
        "What is unstable, and why now?",
        "In the room",
        "Stop rules",
        "Watch afterwards",
        "Type or open plans",
    ):
        assert part in words
    assert "Two plans or more are needed" in words


def test_a_refused_number_takes_nothing_else_away(inside: Client) -> None:
    words = inside.get(f"{planned(inside, 'HS-009')}/plans").words
    assert "no number is shown" in words or "Two plans or more" in words
    assert "In the room" in words


def test_a_value_that_cannot_be_true_is_named_and_the_page_stands(inside: Client) -> None:
    at = planned(inside, "TW-204")
    inside.post(f"{at}/answer", {"case_id": "TW-204", "age_years": "99"})
    words = inside.get(f"{at}/plans").words
    assert "age_years: found 99; accepted: a number from 0 to 25 years" in words
    assert "C1-C2 lateral mass and pedicle screws" in words


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_the_forms_hold_a_plans_file_and_give_it_back(inside: Client, path: Path) -> None:
    at = inside.upload("/open", content(path.stem)).header("location").removesuffix("/child")
    inside.upload(f"{at}/plans/open", path.read_bytes(), "plans.toml")
    fields = form_fields(inside.get(f"{at}/plans/edit").text)
    assert inside.post(f"{at}/plans/edit", fields).status == 303
    saved = tomllib.loads(inside.get(f"{at}/plans.toml").text)
    assert in_one_order(plans.plans_of(saved)) == in_one_order(plans.read_plans(path))


def in_one_order(held: plans.PlansFile) -> list[plans.Plan]:
    """The plans, kinds of graft in one order: boxes that are ticked have none."""
    kinds = [sorted(plan.graft or (), key=lambda kind: kind.value) for plan in held.plans]
    return [replace(plan, graft=tuple(kind)) for plan, kind in zip(held.plans, kinds, strict=True)]


def form_fields(page: str) -> dict[str, list[str]]:
    """What a browser sends for the last form of a page, without pressing a button other than the first."""
    form = page[page.rindex("<form") : page.rindex("</form>")]
    fields: dict[str, list[str]] = {}
    for tag in re.finditer(r"<(input|select)\b([^>]*)>(.*?)(?=<input|<select|$)", form, re.DOTALL):
        kind, attributes, inside = tag.groups()
        name = re.search(r'name="([^"]*)"', attributes)
        if name is None or ('type="checkbox"' in attributes and " checked" not in attributes):
            continue
        if kind == "select":
            chosen = re.search(r'<option value="([^"]*)" selected', inside)
            value = chosen[1] if chosen else ""
        else:
            found = re.search(r'value="([^"]*)"', attributes)
            value = found[1] if found else ""
        fields.setdefault(name[1], []).append(value)
    return fields


def test_a_plan_is_typed_anchor_by_anchor(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    fields = {
        **{"p0.name": "A", "p0.upper": "C1", "p0.lower": "C2", "p0.rods": "2", "p0.connector": "no"},
        **{"p0.graft": ["iliac_structural"], "p0.decompression": ["none"], "p0.spacer.left_mm": "5"},
        **{"p0.a0.level": "C2", "p0.a0.side": "left", "p0.a0.kind": "pedicle_screw", "p0.a0.diameter_mm": "3.5"},
        **{"p1.name": "B", "p1.rods": "2", "p1.connector": "no"},
    }
    inside.post(f"{at}/plans/edit", fields)
    document = tomllib.loads(inside.get(f"{at}/plans.toml").text)
    assert document["plan"] == [
        {
            **{"name": "A", "upper": "C1", "lower": "C2", "rods": 2, "connector": False},
            **{"graft": ["iliac_structural"], "decompression": [], "spacer": {"left_mm": 5.0}},
            "anchor": [{"level": "C2", "side": "left", "kind": "pedicle_screw", "diameter_mm": 3.5}],
        }
    ]
    assert "C2 left pedicle screw" in inside.get(f"{at}/plans").words


def test_plans_are_added_and_taken_out_up_to_four(inside: Client) -> None:
    at = planned(inside, "TW-204")
    assert inside.get(f"{at}/plans/edit").text.count('<section class="group typed">') == 3
    more = inside.get(f"{at}/plans/edit?more=1").text
    assert more.count('<section class="group typed">') == 4
    assert "Add a plan" not in more
    assert 'name="p3.name" value="D"' in more
    answer = inside.post(f"{at}/plans/edit", {**form_fields(more), "take_out": "B"})
    assert answer.header("location").endswith("/plans/edit")
    names = re.findall(r'name="p\d\.name" value="(\w)"', inside.get(f"{at}/plans/edit").text)
    assert names == ["A", "C"]


@pytest.mark.parametrize("word", ["nan", "inf", "3,5", "x" * 50, "<b>"])
def test_a_length_that_is_none_is_named_with_what_is_accepted_and_given_back(inside: Client, word: str) -> None:
    at = inside.new_child(typed("TW-204"))
    fields = {
        **{"p0.name": "A", "p0.upper": "C1", "p0.lower": "C2", "p0.rods": "2"},
        **{"p0.a0.level": "C2", "p0.a0.side": "left", "p0.a0.kind": "pedicle_screw", "p0.a0.diameter_mm": word},
    }
    inside.post(f"{at}/plans/edit", fields)
    words = inside.get(f"{at}/plans").words
    assert "diameter_mm" in words
    assert "accepted: a number" in words
    assert "parts of this plan were refused" in words
    if "<" not in word:
        assert f'value="{word}"' in inside.get(f"{at}/plans/edit").text


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        (b"\xff", "not a UTF-8 text"),
        (b"[[plan", "no TOML"),
        (b"format = 2\n", "format = 1"),
        (b"format = 1\n", "at least one [[plan]]"),
    ],
)
def test_what_is_no_plans_file_is_refused(inside: Client, sent: bytes, says: str) -> None:
    at = inside.new_child(typed("TW-204"))
    answer = inside.upload(f"{at}/plans/open", sent, "plans.toml")
    assert answer.status == 422
    assert says in answer.words


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        (b"\xff\xfe", "text that is no CSV"),
        (b"case_id,corridor_site,corridor_side,corridor_level,corridor_mm\nTW-204,here,left,C3,6\n", "corridor_site"),
        (b"a,b\n1,2,3\n", "unknown column"),
    ],
)
def test_paths_that_cannot_be_read_are_named_and_the_page_stands(inside: Client, sent: bytes, says: str) -> None:
    at = inside.new_child(typed("TW-204"))
    assert inside.upload(f"{at}/plans/open", sent, "paths.csv").status == 303
    words = inside.get(f"{at}/plans").words
    assert says in words
    assert "Step by step" in words


def test_rows_of_other_children_are_passed_over(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    rows = b"case_id,corridor_site,corridor_side,corridor_level,corridor_mm\nXX-1,subaxial_lateral_mass,left,C3,6\n"
    inside.upload(f"{at}/plans/open", rows, "paths.csv")
    assert "CSV)" in inside.get(f"{at}/plans/edit").words
    assert "C3 left lateral mass" not in inside.get(f"{at}/plans").words


def test_what_is_decided_is_kept_with_the_plans_and_without_them(inside: Client) -> None:
    for at in (planned(inside, "TW-204"), inside.new_child(typed("TW-204"))):
        inside.post(f"{at}/plans/decided", {"decided.cord": "no decompression", "decided.nonsense": "x"})
        assert 'name="decided.cord" value="no decompression"' in inside.get(f"{at}/plans").text
        assert tomllib.loads(inside.get(f"{at}/plans.toml").text)["decided"] == {"cord": "no decompression"}


def test_a_blank_form_offers_one_plan(inside: Client) -> None:
    (draft,) = drafts({}, more=False)
    assert (draft.name, draft.number) == ("A", 0)
    at = inside.new_child(typed("TW-204"))
    inside.post(f"{at}/plans/edit", form_fields(inside.get(f"{at}/plans/edit").text))
    assert "plan" not in tomllib.loads(inside.get(f"{at}/plans.toml").text)


def test_a_model_of_another_anatomy_has_no_planning_pages() -> None:
    held = demonstration_models()
    other = replace(held, dictionary=replace(held.dictionary, name="other"))
    inside = client(other).let_in()
    at = inside.new_child(typed("TW-204"))
    assert inside.get(f"{at}/plans").status == 404
    assert "Plans" not in inside.get(f"{at}/child").words


def test_an_opened_file_is_looked_at_once() -> None:
    assert opened(file("TW-204"))["format"] == 1
    assert document_of(FormData(), {}) == {"format": 1, "plan": []}
