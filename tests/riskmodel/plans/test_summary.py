"""The whole conference of the four invented children of the demonstration, and what belongs to every summary."""

from datetime import date
from functools import cache

import pytest

from riskmodel.cli.plans import conference
from riskmodel.plans import Asking, Summary, summarise
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.rescue import Rescue
from riskmodel.plans.views import PlanView
from riskmodel.plans.words import Because, Fit, Kind, Level, Side, Step
from riskmodel.scoring import Scorer
from tests import demonstration

ON = date(2026, 12, 1)
PLANS = demonstration.FOLDER / "plans"
CHILDREN = ("TW-204", "CM-031", "HS-009", "EH-112")


@cache
def summary(name: str) -> Summary:
    """Anatomy alone."""
    return summarise(conference(demonstration.CASES / f"{name}.toml", PLANS / f"{name}.toml"), Asking(ON))


def site(name: str, level: str, side: str, kind: Kind) -> AnchorFit:
    place = (Level(level), Side(side), kind)
    return next(fit for fit in summary(name).sites if fit.place == place)


def view(name: str, plan: str) -> PlanView:
    return next(held for held in summary(name).plans if held.plan.name == plan)


def rescue(name: str, plan: str, anchor: str) -> Rescue:
    return next(held for held in view(name, plan).rescues if held.anchor == anchor)


@pytest.mark.parametrize("name", CHILDREN)
def test_every_child_is_read_without_a_finding_and_has_the_whole_page(name: str) -> None:
    held = summary(name)
    assert held.findings == ()
    assert [step.step.number for step in held.steps] == [1, 2, 3, 4, 5, 6, 7]
    assert all(getattr(held, part) for part in ("sites", "plans", "kit", "stop_rules", "watch", "says", "blood"))
    assert held.watch_says == "adapt to local practice"
    assert held.risks == ()


@pytest.mark.parametrize("name", CHILDREN)
def test_plans_stand_in_the_order_typed(name: str) -> None:
    names = [held.plan.name for held in summary(name).plans]
    assert names == sorted(names)


def test_the_ordinary_child() -> None:
    assert site("TW-204", "C1", "right", Kind.LATERAL_MASS_SCREW).because == (Because.ENTRY_LOW,)
    assert site("TW-204", "C2", "right", Kind.PEDICLE_SCREW).fit is Fit.WITH_ROOM
    assert site("TW-204", "C2", "left", Kind.PEDICLE_SCREW).fit is Fit.FITS
    assert site("TW-204", "C2", "left", Kind.PEDICLE_SCREW).could_be is Fit.WITH_ROOM
    assert site("TW-204", "O", "midline", Kind.MIDLINE_SCREW).longest_mm == 10.0
    assert view("TW-204", "A").columns["weaker_end_anchors"] == 2
    assert view("TW-204", "B").columns["construct_kind"] == "transarticular_cable"
    assert "weaker_end_anchors" not in view("TW-204", "B").columns
    assert view("TW-204", "C").columns["includes_occiput"] == "yes"
    assert all(held.contradictions == () for held in summary("TW-204").plans)
    blood = summary("TW-204").blood
    assert blood is not None
    assert blood.volume_ml == 1950


def test_the_child_with_gaps() -> None:
    right, left = (site("CM-031", "C2", side, Kind.PEDICLE_SCREW) for side in ("right", "left"))
    assert (right.fit, left.fit) == (Fit.BARELY, Fit.NOT)
    assert [(size.diameter_mm, size.fit) for size in left.sizes[:2]] == [(2.7, Fit.FITS), (3.0, Fit.BARELY)]
    assert site("CM-031", "C1", "left", Kind.LATERAL_MASS_SCREW).because == (Because.ENTRY_LOW,)
    assert "artery not imaged" in right.notes
    assert "height for two crossing screws up to 3.2 mm" in site("CM-031", "C2", "left", Kind.LAMINA_SCREW).notes
    (cord, anchors, healing) = (
        summary("CM-031").steps[step.number - 1] for step in (Step.CORD, Step.ANCHORS, Step.HEALING)
    )
    assert "Cord signal at the junction" in cord.not_known
    assert "Bone density" in healing.not_known
    told = [fact.says for fact in anchors.measured if fact.label == "Atlas"]
    assert told == ["posterior arch cleft (doubtful until 13); dysplasia and storage disease ossify late"]
    instability = summary("CM-031").steps[0]
    assert "Atlantodental interval, neutral: not measurable" in instability.not_known
    assert view("CM-031", "B").bed.behind is False
    assert view("CM-031", "A").bed.behind is True


def test_the_child_whose_number_is_refused_keeps_the_page() -> None:
    scorer = Scorer(demonstration.bundle())
    case = conference(demonstration.CASES / "HS-009.toml", PLANS / "HS-009.toml")
    held = summarise(case, Asking(ON, numbers=True), [scorer])
    alone = summary("HS-009")
    assert (held.steps, held.sites, held.plans, held.kit, held.watch) == (
        alone.steps,
        alone.sites,
        alone.plans,
        alone.kit,
        alone.watch,
    )
    (told,) = held.risks
    assert [number.estimate.shown for number in told.numbers] == [False]
    assert held.demonstration
    assert view("HS-009", "A").plan.segments == 10
    assert all(fit.fit is Fit.UNKNOWN for fit in view("HS-009", "A").anchors)


def test_the_child_whose_plans_do_not_hold() -> None:
    found = {held.found for held in view("EH-112", "A").contradictions}
    assert "C1 left lateral mass screw: no bone there" in found
    assert [fit.fit for fit in view("EH-112", "A").anchors] == [Fit.UNKNOWN, Fit.NOT, Fit.NOT, Fit.FITS]
    assert all(fit.fit is Fit.NOT for fit in view("EH-112", "B").anchors)
    keel = next(held for held in view("EH-112", "B").contradictions if held.found.startswith("O midline"))
    assert "8 mm of bone left above an earlier removal; 15 mm are asked for" in keel.found
    assert view("EH-112", "B").columns["weaker_end_anchors"] == 0


def test_its_rescue_finds_the_right_condyle_the_left_pedicle_and_c3() -> None:
    condyle = rescue("EH-112", "B", "O midline screw").options
    assert [fit.place for fit in condyle] == [(Level.O, Side.RIGHT, Kind.CONDYLE_SCREW)]
    left = {fit.label: fit for fit in rescue("EH-112", "B", "C2 left lamina screw").options}
    assert left["C2 left pedicle screw"].fit is Fit.FITS
    assert (left["C3 left lateral mass screw"].fit, left["C3 left lateral mass screw"].longest_mm) == (
        Fit.WITH_ROOM,
        12.0,
    )
    right = [fit.label for fit in rescue("EH-112", "B", "C2 right lamina screw").options]
    assert "C3 right lateral mass screw" in right
    assert not rescue("EH-112", "A", "C1 left lateral mass screw").found


def test_its_kit_holds_the_block_the_connector_and_the_halo() -> None:
    held = {item.name.split(":")[0]: item.because for item in summary("EH-112").kit}
    assert held["structural graft"] == ("left: gap 8.5 mm under traction, tallest spacer 7 mm",)
    assert "cross-connector" in held
    assert "halo ring and pins" in held
    assert "no anchor left at C2 left" in {rule.when for rule in summary("EH-112").stop_rules}


def test_no_plan_is_put_before_another() -> None:
    """No word of a summary's type ranks: neither a score nor a winner nor a colour."""
    words = {"winner", "best_plan", "rank", "score", "recommended", "colour", "color", "preferred"}
    assert words.isdisjoint(Summary.__dataclass_fields__)
    assert words.isdisjoint(PlanView.__dataclass_fields__)


def test_an_open_step_hides_nothing() -> None:
    held = summary("HS-009")
    assert all(step.decided == "" for step in held.steps)
    assert all(step.measured or step.not_known or step.prompts for step in held.steps)
