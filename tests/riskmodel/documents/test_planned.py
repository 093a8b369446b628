"""The planning conference on the surgeon's page, with the invented children of the demonstration."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

from riskmodel import plans
from riskmodel.cli.plans import conference
from riskmodel.documents import surgeon
from riskmodel.documents.surgeon.planned import conference_of
from riskmodel.documents.words import MINUS
from riskmodel.plans.risks import CANNOT_TELL, NOT_AN_EFFECT, Difference, ModelRisks
from riskmodel.plans.words import Step
from tests.riskmodel.documents.builders import ON
from tests.riskmodel.documents.test_surgeon import scored

FOLDER = Path(__file__).parents[3] / "synthetic_cohort" / "demonstration"
CHILDREN = ("TW-204", "CM-031", "HS-009", "EH-112")


@cache
def summary(name: str, *, with_plans: bool = True) -> plans.Summary:
    file = FOLDER / "plans" / f"{name}.toml" if with_plans else None
    return plans.summarise(conference(FOLDER / "cases" / f"{name}.toml", file), plans.Asking(ON))


@pytest.mark.parametrize("name", CHILDREN)
def test_nothing_of_the_conference_is_lost_on_the_page(name: str) -> None:
    held, told = summary(name), conference_of(summary(name))
    assert [step.number for step in told.steps] == [step.number for step in Step]
    for view, step in zip(held.steps, told.steps, strict=True):
        assert set(view.not_known) == set(step.unknown)
        assert len([fact for fact in view.measured if not fact.plan]) == len(step.measured)
        # Every situation once, behind the plans that it belongs to.
        for prompt in view.prompts:
            (line,) = (line for line in step.prompts if line.endswith(prompt.situation))
            assert prompt.plan in line.removesuffix(prompt.situation)
        assert len(step.prompts) == len({prompt.situation for prompt in view.prompts})
    assert [plan.name for plan in told.plans] == [view.plan.name for view in held.plans]
    anchors = {rescue.anchor.removesuffix(" screw") for view in held.plans for rescue in view.rescues}
    assert {where.split(": ", 1)[1] for where, _ in told.rescue} == anchors
    assert len(told.kit) == len(held.kit)
    for rule in held.stop_rules:
        assert any(line.endswith(rule.then) for line in told.stop_rules)
    assert len(told.watch) == len(held.watch)


def test_the_child_whose_plans_do_not_hold_is_shown_what_is_left() -> None:
    """The rescues that the measurements of this invented child leave (worked out beforehand, from the scenario)."""
    told = " ".join(words for _, words in conference_of(summary("EH-112")).rescue)
    for option in ("O right condyle", "C2 left pedicle", "C3 right lateral mass", "C3 left lateral mass"):
        assert option in told
    kit = conference_of(summary("EH-112")).kit
    for item in ("structural graft", "cross-connector", "halo ring"):
        assert any(held.startswith(item) for held in kit)


def test_no_rescue_says_how_much_nobody_measured() -> None:
    held = summary("HS-009").plans[0].rescues
    for rescue, (_, words) in zip(held, conference_of(summary("HS-009")).rescue, strict=True):
        assert words == f"nothing measured fits; {len(rescue.not_measured)} places not measured"


def test_the_ladder_goes_down_to_the_lowest_level_and_shares_a_rung_where_nothing_is_held() -> None:
    ladder = conference_of(summary("HS-009")).ladder
    assert ladder is not None
    levels = [line.split(":")[0] for line in ladder.words.splitlines()[1:]]
    assert levels == ["O", "C1", "C2", "C3-C4", "C5", "C6-T1", "T2", "T3"]


def test_planned_sites_are_ringed_on_their_own_side() -> None:
    ladder = conference_of(summary("TW-204")).ladder
    assert ladder is not None
    (c2,) = (line for line in ladder.words.splitlines() if line.startswith("C2:"))
    left, right = c2.split("; right:")
    for side in (left, right):
        assert "pedicle" in side
        assert "planned here" in side


def test_screws_of_the_ladder_carry_their_margin() -> None:
    """C2 pedicle 4.6 wide and 5.9 high on the right: 4.0 leaves 0.6, the largest stocked one that fits."""
    ladder = conference_of(summary("TW-204")).ladder
    assert ladder is not None
    assert "pedicle, 4 +0.6" in ladder.words


def test_without_plans_the_anatomy_stands() -> None:
    told = conference_of(summary("EH-112", with_plans=False))
    assert told.plans == ()
    assert told.rescue == ()
    assert told.ladder is not None
    assert told.steps[0].measured


@pytest.mark.parametrize(
    ("difference", "low", "high", "words"),
    [
        (0.03, -0.02, 0.08, f"A less B +3 in 100 ({MINUS}2 to +8): {CANNOT_TELL}"),
        (-0.001, -0.004, 0.001, f"A less B 0 in 100 (0 to 0): {CANNOT_TELL}"),
    ],
)
def test_differences_between_plans_are_told_with_their_interval_and_never_as_two_numbers(
    difference: float, low: float, high: float, words: str
) -> None:
    held = Difference("A", "B", difference, low, high, 0.9, CANNOT_TELL, ())
    risks = ModelRisks(
        "small", "d" * 64, "t", "o", 24.0, "study", demonstration=False, cautions=(), differences=(held,), numbers=()
    )
    ((digest, told),) = conference_of(replace(summary("TW-204"), risks=(risks,))).between
    assert digest == "d" * 64
    assert told == (words,)


def test_pairs_of_plans_of_which_the_same_is_said_share_it() -> None:
    pairs = [("A", "B", CANNOT_TELL), ("A", "C", NOT_AN_EFFECT), ("B", "C", CANNOT_TELL)]
    held = tuple(Difference(first, second, 0.1, 0.0, 0.2, 0.9, says, ()) for first, second, says in pairs)
    risks = ModelRisks(
        "small", "d" * 64, "t", "o", 24.0, "study", demonstration=False, cautions=(), differences=held, numbers=()
    )
    ((_, told),) = conference_of(replace(summary("TW-204"), risks=(risks,))).between
    assert told == (
        f"A less B +10 in 100 (0 to +20), B less C +10 in 100 (0 to +20): {CANNOT_TELL}",
        f"A less C +10 in 100 (0 to +20): {NOT_AN_EFFECT}",
    )


@pytest.mark.parametrize("name", CHILDREN)
def test_the_front_is_one_page_whatever_the_child(name: str) -> None:
    made = surgeon.summarise((scored(), scored()), summary(name))
    document = pypdfium2.PdfDocument(surgeon.to_pdf(made))
    pages = [page.get_textpage().get_text_range() for page in document]
    document.close()
    assert len(pages) <= 3
    for words in ("Stop rules", "If an anchor fails", "best estimate", "Calibration"):
        assert words in pages[0]
    assert "Cautions" not in pages[0]


@pytest.mark.parametrize("name", CHILDREN)
def test_every_rendering_of_every_child(name: str) -> None:
    made = surgeon.summarise((scored(),), summary(name))
    html, markdown = surgeon.to_html(made), surgeon.to_markdown(made)
    for step in made.conference.steps:
        assert step.title.split("?")[0] in html
        assert step.title.split("?")[0] in markdown
    assert surgeon.to_json(made).startswith("{")
