"""Plans: what the anatomy refuses stays refused with less bone, what is not known never fits, and sides are alike."""

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from random import Random
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from riskmodel.plans import Conference, Corridor, Plan, PlansFile
from riskmodel.plans.contradictions import contradictions
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.plan import Anchor, Spacers
from riskmodel.plans.risks import Asking
from riskmodel.plans.sites import Ground, all_sites
from riskmodel.plans.summary import summarise
from riskmodel.plans.views import plan_view
from riskmodel.plans.words import Fit
from tests.properties import MANY, SOME, seeded
from tests.properties.planning import (
    AROUND,
    BONE,
    CHILDREN,
    PATHS,
    PLANS,
    WORDS,
    Values,
    ground,
    length,
    no_better,
    other_side,
    planned,
)

ASKING = Asking(date(2026, 12, 1))
RANDOM = seeded(lambda random: random)


def smaller(values: Values, random: Random) -> Values:
    """The same child with less of some bone; nothing is known that was not."""
    shares = {name: random.choice((0.0, 0.8, 0.95, 1.0, 1.0)) for name in (*BONE, *AROUND)}
    return {name: round(value * shares[name], 1) if name in shares else value for name, value in values.items()}


def less(paths: tuple[Corridor, ...], share: float) -> tuple[Corridor, ...]:
    """The same measured paths, each narrower, lower and shorter."""
    return tuple(
        replace(
            path,
            width_mm=_part(path.width_mm, share),
            height_mm=_part(path.height_mm, share),
            length_mm=_part(path.length_mm, share),
        )
        for path in paths
    )


def _part(length_mm: float | None, share: float) -> float | None:
    return None if length_mm is None else length_mm * share


def rules(on: Ground, plan: Plan) -> set[str]:
    return {held.rule for held in contradictions(on, plan, planned(on, plan))}


def every_fit(on: Ground, plan: Plan) -> tuple[AnchorFit, ...]:
    """The anchors of the plan and every usual site with all bone in place."""
    return (*planned(on, plan), *all_sites(on, (plan,)))


@MANY
@given(CHILDREN, PLANS, PATHS)
def test_what_is_told_to_fit_is_wider_than_the_screw_wherever_it_was_measured(
    values: Values, plan: Plan, paths: tuple[Corridor, ...]
) -> None:
    """By the words of the classes: with room from 1.0 mm, fits from 0.5 mm, barely from 0; a cap holds all of it."""
    on = ground(values, paths)
    for fit in every_fit(on, plan):
        asked = on.usual_mm(fit.kind) if fit.asked_mm is None else fit.asked_mm
        margins = [margin for part in fit.measured if (margin := part.margin_mm(asked)) is not None]
        if fit.fit.possible:
            assert fit.margin_mm == min(margins) >= -1e-9
            assert not fit.because or fit.fit is Fit.BARELY
        if fit.fit.holds and fit.limit.name == "margin_fits_mm":
            assert min(margins) >= (1.0 if fit.fit is Fit.WITH_ROOM else 0.5) - 1e-9
        assert all(no_better(fit.fit, cap.ceiling) for cap in fit.caps) or fit.fit is Fit.UNKNOWN
        assert fit.fit is not Fit.NOT or fit.because


@MANY
@given(CHILDREN, PLANS, PATHS, RANDOM, st.sampled_from((0.5, 0.9, 1.0)))
def test_with_less_bone_nothing_fits_better_and_no_contradiction_goes(
    values: Values, plan: Plan, paths: tuple[Corridor, ...], random: Random, share: float
) -> None:
    whole, thin = ground(values, paths), ground(smaller(values, random), less(paths, share))
    for before, after in zip(every_fit(whole, plan), every_fit(thin, plan), strict=True):
        assert no_better(after.fit, before.fit), (before, after)
        assert no_better(after.hold, before.hold), (before, after)
        for thick, thinner in zip(before.sizes, after.sizes, strict=True):
            assert no_better(thinner.fit, thick.fit), (thick, thinner)
    assert rules(whole, plan) <= rules(thin, plan)
    before_ends, after_ends = (plan_view(on, plan).ends.weaker_firm for on in (whole, thin))
    assert after_ends[0] <= before_ends[0]
    assert after_ends[1] <= before_ends[1]


@MANY
@given(CHILDREN, PLANS, RANDOM)
def test_with_less_bone_no_rescue_is_found_that_was_not(values: Values, plan: Plan, random: Random) -> None:
    before, after = (plan_view(ground(held), plan).rescues for held in (values, smaller(values, random)))
    assert [rescue.anchor for rescue in before] == [rescue.anchor for rescue in after]
    for whole, thin in zip(before, after, strict=True):
        assert whole.found or not thin.found
        assert {fit.label for fit in thin.options} <= {fit.label for fit in whole.options}
        assert all(fit.fit.possible for fit in thin.options)


@MANY
@given(CHILDREN, PLANS, st.frozensets(st.sampled_from(BONE), min_size=1))
def test_a_word_for_not_measured_is_worth_no_more_than_silence(
    values: Values, plan: Plan, silent: frozenset[str]
) -> None:
    known = {name: value for name, value in values.items() if name not in silent}
    said = every_fit(ground({**known, **dict.fromkeys(silent, "not_measurable")}), plan)
    unsaid = every_fit(ground(known), plan)
    assert said == unsaid


@MANY
@given(CHILDREN, PLANS, RANDOM)
def test_a_further_measurement_lowers_a_class_only_where_it_was_at_best(
    values: Values, plan: Plan, random: Random
) -> None:
    """A site that nobody measured stays open until its own bone is; one that does not fit stays so."""
    name = random.choice(BONE)
    known = {key: value for key, value in values.items() if key != name}
    more = {**known, name: length(random, name)}
    label = WORDS.variables[name].label
    for before, after in zip(every_fit(ground(known), plan), every_fit(ground(more), plan), strict=True):
        if before.fit is Fit.NOT:
            assert after.fit is Fit.NOT
        elif before.fit is Fit.UNKNOWN:
            assert after.fit is Fit.UNKNOWN or label in before.not_known
        else:
            assert no_better(after.fit, before.fit)
            assert after.fit is before.fit or (before.at_best and label in before.not_known)


@MANY
@given(CHILDREN, PLANS, RANDOM)
def test_what_is_measured_later_lies_within_what_was_open(values: Values, plan: Plan, random: Random) -> None:
    name = random.choice(BONE)
    known = {key: value for key, value in values.items() if key != name}
    more = {**known, name: length(random, name)}
    before, after = (plan_view(ground(held), plan).ends for held in (known, more))
    for open_still, settled in ((before.above, after.above), (before.below, after.below)):
        assert open_still.firm <= settled.firm
        assert settled.firm + settled.open_screws <= open_still.firm + open_still.open_screws
    assert before.weaker_firm[0] <= after.weaker_firm[0] <= after.weaker_firm[1] <= before.weaker_firm[1]


@MANY
@given(CHILDREN, PLANS, RANDOM)
def test_a_plan_that_loses_an_anchor_contradicts_itself_in_nothing_new(
    values: Values, plan: Plan, random: Random
) -> None:
    kept = tuple(anchor for anchor in plan.anchors if random.random() < 0.5)
    on, fewer = ground(values), replace(plan, anchors=kept)
    assert rules(on, fewer) <= rules(on, plan)
    assert of_anchors(on, fewer) <= of_anchors(on, plan)


def of_anchors(on: Ground, plan: Plan) -> set[str]:
    """What single anchors contradict, in words; other rules name all anchors at once."""
    named = ("no_bone_for_anchor", "longer_than_path", "assimilated_c1")
    return {held.found for held in contradictions(on, plan, planned(on, plan)) if held.rule in named}


@MANY
@given(CHILDREN, PLANS)
def test_bone_left_in_place_and_rods_added_bring_no_contradiction(values: Values, plan: Plan) -> None:
    on = ground(values)
    kept = replace(plan, removal=(), occipital_bone_left_mm=None, rods=2, connector=False, support=None)
    assert rules(on, kept) <= rules(on, plan)


@MANY
@given(CHILDREN, PLANS, PATHS, RANDOM)
def test_neither_the_order_of_anchors_nor_that_of_paths_nor_company_changes_a_plan(
    values: Values, plan: Plan, paths: tuple[Corridor, ...], random: Random
) -> None:
    turned_paths, order = list(paths), list(range(len(plan.anchors)))
    random.shuffle(turned_paths)
    random.shuffle(order)
    turned = replace(plan, anchors=tuple(plan.anchors[place] for place in order))
    held, other = plan_view(ground(values, paths), plan), plan_view(ground(values, turned_paths), turned)
    assert held.columns == other.columns
    assert (held.ends, held.bed, held.fused) == (other.ends, other.bed, other.fused)
    assert {found.rule for found in held.contradictions} == {found.rule for found in other.contradictions}
    assert [other.anchors[order.index(place)] for place in range(len(order))] == list(held.anchors)


@SOME
@given(CHILDREN, PLANS, PLANS)
def test_a_plan_is_told_the_same_whatever_stands_beside_it(values: Values, plan: Plan, beside: Plan) -> None:
    on, second = ground(values), replace(beside, name="B")
    for order in ((plan,), (plan, second), (second, plan)):
        made = summarise(Conference(on.child, values, PlansFile(order, {}, ()), on.limits, on.stock), ASKING)
        assert [view.plan.name for view in made.plans] == [each.name for each in order]
        assert next(view for view in made.plans if view.plan is plan) == plan_view(on, plan)


def mirrored(values: Mapping[str, Any]) -> Values:
    """The child as a mirror shows it: names of variables and codes with a side in them."""
    return {_turned(name): _turned(value) if isinstance(value, str) else value for name, value in values.items()}


def _turned(word: str) -> str:
    turn = {"right": "left", "left": "right"}
    return word if word.startswith("occipital_bone") else re.sub(r"right|left", lambda match: turn[match[0]], word)


def _mirrored_plan(plan: Plan) -> Plan:
    spacers = Spacers(plan.spacers.left_mm, plan.spacers.right_mm)
    return replace(plan, anchors=tuple(map(_mirrored, plan.anchors)), spacers=spacers)


def _mirrored(held: Anchor) -> Anchor:
    return replace(held, side=other_side(held.side))


def _told(fit: AnchorFit) -> tuple[object, ...]:
    """What is said of an anchor without its words."""
    sizes = [(size.diameter_mm, size.fit, size.margin_mm) for size in fit.sizes]
    classes = (fit.fit, fit.hold, fit.hold_settled, fit.at_best, fit.could_be, fit.margin_mm, fit.path_mm)
    return (*classes, fit.because, fit.limit, len(fit.caps), len(fit.notes), len(fit.not_known), sizes)


@MANY
@given(CHILDREN, PLANS, PATHS)
def test_a_mirrored_child_with_a_mirrored_plan_is_told_the_mirrored_thing(
    values: Values, plan: Plan, paths: tuple[Corridor, ...]
) -> None:
    turned = tuple(replace(path, side=other_side(path.side)) for path in paths)
    on, other = ground(values, paths), ground(mirrored(values), turned)
    fits, mirror = planned(on, plan), planned(other, _mirrored_plan(plan))
    assert [_told(fit) for fit in fits] == [_told(fit) for fit in mirror]
    sites = {(fit.level, fit.side, fit.kind): _told(fit) for fit in all_sites(on, (plan,))}
    turned_sites = all_sites(other, (_mirrored_plan(plan),))
    assert sites == {(fit.level, other_side(fit.side), fit.kind): _told(fit) for fit in turned_sites}
    view, image = plan_view(on, plan), plan_view(other, _mirrored_plan(plan))
    assert (view.ends, view.bed) == (image.ends, image.bed)
    back = [(_turned(held.anchor), len(held.smaller), len(held.options)) for held in image.rescues]
    assert [(held.anchor, len(held.smaller), len(held.options)) for held in view.rescues] == back
