"""Differences of risk between plans under a fitted demonstration model."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from riskmodel.plans.core import with_plan
from riskmodel.plans.risks import (
    CANNOT_TELL,
    CONFOUNDED,
    NOT_AN_EFFECT,
    Asking,
    ModelRisks,
    PlanValues,
    hold_the_same,
    risks,
)
from riskmodel.scoring import Scorer
from tests import demonstration
from tests.riskmodel.plans.builders import case, dictionary

ON = date(2026, 12, 1)
CHILD = case(
    age_years=9.2,
    sex="female",
    condition="down",
    indication="instability",
    prior_cvj_surgery=0,
    nurick_grade=1,
    reduces="awake",
    adi_mm=9.5,
    padi_mm=11.5,
    atlas_ring="intact",
    artery_right="usual",
    artery_left="usual",
    graft_kind="structural_own",
    planned_support="collar",
)
SHORT = case(upper_level="C1", lower_level="C2", construct_kind="rigid", weaker_end_anchors=2)
LONG = case(upper_level="O", lower_level="C2", construct_kind="rigid", weaker_end_anchors=2)
WEAK = case(upper_level="C1", lower_level="C2", construct_kind="no_rigid_metal", weaker_end_anchors=0)


@pytest.fixture(scope="module")
def scorer() -> Scorer:
    return Scorer(demonstration.bundle())


def asked(scorer: Scorer, *plans: dict[str, object], **more: object) -> ModelRisks:
    asking = Asking(ON, frozenset(), numbers=bool(more.pop("numbers", False)))
    held = tuple(PlanValues(name, columns) for name, columns in zip("ABC", plans, strict=False))
    return risks(scorer, {**CHILD, **more}, held, asking)


def test_a_plan_against_itself_is_nought_and_cannot_be_told_apart(scorer: Scorer) -> None:
    (held,) = asked(scorer, SHORT, SHORT).differences
    assert (held.difference, held.low, held.high) == (0.0, 0.0, 0.0)
    assert (held.apart, held.says) == (False, CANNOT_TELL)


def test_a_difference_is_that_of_the_two_estimates(scorer: Scorer) -> None:
    held = asked(scorer, SHORT, LONG, numbers=True)
    a, b = (number.estimate.probability for number in held.numbers)
    assert a is not None
    assert b is not None
    assert held.differences[0].difference == pytest.approx(a - b, abs=1e-12)


def test_the_interval_is_of_the_differences_in_the_same_draws(scorer: Scorer) -> None:
    """Computed anew from the stored draws; narrower than if the plans were drawn apart."""
    (held,) = asked(scorer, SHORT, LONG).differences
    model = scorer.model
    tables = [scorer.read_case(with_plan(CHILD, {**own, **_graft()}, dictionary()))[0] for own in (SHORT, LONG)]
    columns = [model.recipe.expected(table)[0] for table in tables]
    drawn = [1 / (1 + np.exp(-(model.draws[:, 0] + model.draws[:, 1:] @ x))) for x in columns]
    differences = np.sort(drawn[0] - drawn[1])
    cut = int(0.05 * len(differences) + 1e-9)
    assert held.low == pytest.approx(differences[cut], abs=1e-12)
    assert held.high == pytest.approx(differences[-1 - cut], abs=1e-12)
    apart = np.sort(drawn[0][:, None] - drawn[1][None, :], axis=None)
    assert held.low is not None
    assert held.high is not None
    assert held.high - held.low < apart[int(0.95 * apart.size)] - apart[int(0.05 * apart.size)]


def _graft() -> dict[str, object]:
    return case(graft_kind="structural_own", planned_support="collar")


def test_turned_round_it_changes_its_sign_alone(scorer: Scorer) -> None:
    (there,), (back,) = asked(scorer, SHORT, WEAK).differences, asked(scorer, WEAK, SHORT).differences
    assert there.difference is not None
    assert there.low is not None
    assert there.high is not None
    assert back.difference == pytest.approx(-there.difference)
    assert (back.low, back.high) == pytest.approx((-there.high, -there.low))
    assert back.apart == there.apart


def test_missing_values_are_drawn_alike_for_both_plans(scorer: Scorer) -> None:
    """What neither plan changes cancels: plans that are the same differ by nothing although much is not known."""
    (held,) = asked(scorer, SHORT, SHORT, atlas_ring=None, reduces=None).differences
    assert (held.difference, held.low, held.high) == (0.0, 0.0, 0.0)
    (open_count,) = asked(scorer, {**SHORT, "weaker_end_anchors": None}, LONG).differences
    assert open_count.shown


def test_the_words_follow_the_interval(scorer: Scorer) -> None:
    for held in asked(scorer, SHORT, LONG, WEAK).differences:
        assert held.low is not None
        assert held.high is not None
        spans = held.low <= 0.0 <= held.high
        assert held.apart is not spans
        assert held.says == (CANNOT_TELL if spans else NOT_AN_EFFECT)


def test_plans_come_in_the_order_typed_and_numbers_only_on_demand(scorer: Scorer) -> None:
    held = asked(scorer, WEAK, SHORT, LONG)
    assert [(part.first, part.second) for part in held.differences] == [("A", "B"), ("A", "C"), ("B", "C")]
    assert held.numbers == ()
    assert [number.plan for number in asked(scorer, WEAK, SHORT, LONG, numbers=True).numbers] == ["A", "B", "C"]


def test_a_model_without_signal_cannot_tell_plans_apart(scorer: Scorer) -> None:
    mute = Scorer(replace(scorer.bundle, signal=False))
    (held,) = asked(mute, SHORT, WEAK).differences
    assert held.low is not None
    assert held.high is not None
    assert (held.difference, held.apart, held.says) == (0.0, False, CANNOT_TELL)
    assert held.low <= 0.0 <= held.high


def test_confounded_fields_are_held_the_same(scorer: Scorer) -> None:
    plans = [
        PlanValues("A", {**SHORT, "graft_kind": "none"}),
        PlanValues("B", {**LONG, "graft_kind": "structural_own"}),
    ]
    locked = risks(scorer, CHILD, plans, Asking(ON))
    assert locked.differences[0].held_the_same == ("graft_kind",)
    assert locked.differences[0].difference == asked(scorer, SHORT, LONG).differences[0].difference
    freed = risks(scorer, CHILD, plans, Asking(ON, frozenset({"graft_kind"})))
    assert freed.differences[0].held_the_same == ()
    assert freed.differences[0].difference != locked.differences[0].difference


def test_a_confounded_field_that_plans_share_stays_theirs() -> None:
    plans = [
        PlanValues(name, case(graft_kind="donor", planned_support=support))
        for name, support in zip("AB", ("halo", "collar"), strict=True)
    ]
    whole, differing = hold_the_same(case(graft_kind="none"), plans)
    assert [own.get("graft_kind") for own in whole] == ["donor", "donor"]
    assert differing == ("planned_support",)
    assert [own.get("planned_support") for own in whole] == [None, None]
    whole, _ = hold_the_same(case(planned_support="rigid"), plans)
    assert [own["planned_support"] for own in whole] == ["rigid", "rigid"]
    silent = [PlanValues("A", {}), PlanValues("B", {})]
    whole, differing = hold_the_same(case(graft_kind="donor"), silent)
    assert ([own["graft_kind"] for own in whole], differing) == (["donor", "donor"], ())
    whole, differing = hold_the_same({}, plans, unlocked=("planned_support",))
    assert [own["planned_support"] for own in whole] == ["halo", "collar"]
    assert differing == ()


def test_confounded_fields_are_names_of_the_dictionary() -> None:
    assert set(CONFOUNDED) <= set(dictionary().variables)


def test_a_refused_number_names_its_gates(scorer: Scorer) -> None:
    held = asked(scorer, SHORT, LONG, prior_cvj_surgery=3, numbers=True)
    (difference,) = held.differences
    assert (difference.shown, difference.difference, difference.apart) == (False, None, False)
    assert "made for other children only" in difference.says
    assert [number.estimate.probability for number in held.numbers] == [None, None]


def test_a_plan_with_refused_parts_gets_no_number(scorer: Scorer) -> None:
    plans = [PlanValues("A", SHORT), PlanValues("B", LONG, complete=False)]
    (held,) = risks(scorer, CHILD, plans, Asking(ON)).differences
    assert held.says == "no number is shown: plan B has parts that were refused"


def test_a_case_that_the_model_cannot_read_says_why(scorer: Scorer) -> None:
    held = asked(scorer, SHORT, LONG, age_years=-3)
    assert "found -3; accepted: a number from 0 to 25 years" in held.refused
    assert (held.differences, held.numbers) == ((), ())
