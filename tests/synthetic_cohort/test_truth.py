"""The written truth against brute force: lives are drawn, nothing is integrated."""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.special import ndtr

from synthetic_cohort import anatomy, children, cohort, course, hazard, norms, plan, risk, truth
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.records import NOT_IMAGED, NOT_TESTED, Child, Codes, Flags, Floats, Hidden, Plan, take
from synthetic_cohort.risk import Risks
from synthetic_cohort.scenarios import Scenario

CHILDREN = 50
PARTS = 5
DRAWS = 100_000


@pytest.fixture(scope="module")
def made() -> Cohort:
    return cohort.make(Recipe(children=2000, seed=3))


@pytest.fixture(scope="module")
def chosen(made: Cohort) -> tuple[Child, Plan]:
    rows = np.random.default_rng(5).choice(2000, CHILDREN, replace=False)
    return take(made.people.child, rows), take(made.people.plan, rows)


@dataclass(frozen=True)
class Guess:
    """Weighted mean over draws of all that was not told, with its standard error."""

    mean: float
    error: float
    draws: float  # that would be as good without weights (Kish)


def weighted(values: Floats, weights: Floats) -> Guess:
    share = weights / weights.sum()
    mean = float(share @ values)
    return Guess(mean, float(np.sqrt(share**2 @ (values - mean) ** 2)), float(1 / (share @ share)))


def unfold(made: Cohort, child: Child, planned: Plan, rng: np.random.Generator) -> tuple[Hidden, Floats]:
    """Everything hidden of one child, drawn in causal order, and how well each draw explains what was recorded."""
    world = made.world
    causes = causes_given_readings(child, rng)
    bone, surgeon = rng.standard_normal(DRAWS), rng.choice(3, DRAWS, p=world.habits.share[child.centre[0]])
    movements = rng.random(DRAWS) < children.movement_chance(child.condition)
    course_of_artery = norms.ARTERY[child.group[0]]
    arteries = [
        rng.choice(4, DRAWS, p=course_of_artery) if told[0] == NOT_IMAGED else np.full(DRAWS, told[0])
        for told in (child.artery_right, child.artery_left)
    ]
    ages, groups = np.full(DRAWS, child.age_years[0]), np.full(DRAWS, child.group[0])
    bones = anatomy.bones(rng, age_years=ages, group=groups, artery=np.stack(arteries, axis=1))
    tested = rng.choice(3, DRAWS, p=children.reduction_chances(child.condition, child.indication)[0])
    weights = nurick_weights(child, causes)
    weights = weights * plan_weights(made, child, planned, bones, bone, surgeon, movements, rng)
    lost = rng.random(DRAWS) < hazard.lost_anchor_chance(child, planned.anchors, bones.room, bone)
    pooled = hazard.pooled_mean(world, child.condition) + causes @ hazard.pooled_loadings(world, child.condition)[0]
    reduces = tested if child.reduces[0] == NOT_TESTED else np.full(DRAWS, child.reduces[0])
    return Hidden(bones.room, bone, surgeon, movements, reduces, lost, pooled), weights


def causes_given_readings(child: Child, rng: np.random.Generator) -> Floats:
    """Causes drawn, read with error, and moved by what the reading is off (Matheron's rule): exact for normal ones."""
    loads = np.stack([norms.adi_loadings_mm(child.condition)[0], norms.canal_loadings_mm(child.condition)[0]])
    means = np.array([norms.adi_mean_mm(child.condition)[0], norms.canal_mean_mm(child.condition, child.age_years)[0]])
    read = np.array([child.adi_mm[0], child.padi_mm[0]])
    errors = np.array([norms.ADI_READER_SD_MM, norms.CANAL_READER_SD_MM])
    there = ~np.isnan(read)
    loads, means, read, errors = loads[there], means[there], read[there], errors[there]
    causes = rng.standard_normal((DRAWS, len(norms.CAUSES)))
    off = read - (means + causes @ loads.T + errors * rng.standard_normal((DRAWS, len(read))))
    moved: Floats = causes + np.linalg.solve(loads @ loads.T + np.diag(errors**2), off.T).T @ loads
    return moved


def nurick_weights(child: Child, causes: Floats) -> Floats:
    """Chance of the recorded Nurick grade at the drawn distances."""
    grade = child.nurick[0]
    if grade < 0:
        return np.ones(DRAWS)
    canal = norms.canal_mean_mm(child.condition, child.age_years) + causes @ norms.canal_loadings_mm(child.condition)[0]
    cuts = np.concatenate([[-np.inf], norms.NURICK_CUTS, [np.inf]])
    sign = norms.NURICK_PER_MM * (13.0 - canal)
    return np.asarray(ndtr(cuts[grade + 1] - sign) - ndtr(cuts[grade] - sign))


def plan_weights(
    made: Cohort,
    child: Child,
    planned: Plan,
    bones: anatomy.Bone,
    bone: Floats,
    surgeon: Codes,
    movements: Flags,
    rng: np.random.Generator,
) -> Floats:
    """Chance of every decision that was taken, from the sides, plate and habits actually drawn."""
    world, occiput, lower = made.world, planned.occiput, planned.extra_levels > 0
    atlas, axis = bones.atlas_firm.sum(axis=1), bones.axis_firm.sum(axis=1)
    up, down = (
        plan.occiput_chance(world, child, atlas, bone, surgeon),
        plan.lower_chance(world, child, axis, bone, surgeon),
    )
    plate = 1 + (rng.random(DRAWS) < plan.two_occipital_chance(child))
    joined = rng.random(DRAWS) < world.habits.atlas_screws_with_occiput[child.centre, surgeon]
    anchors = np.minimum(np.where(occiput, plate + joined * atlas, atlas), axis + 2 * lower)
    construct = plan.construct_chances(world, child, anchors, surgeon, occiput=occiput, lower=lower)
    used = np.select([planned.construct < 2, planned.construct == 2], [anchors, np.minimum(anchors, 1)], 0)
    graft = plan.graft_chances(world, child, bone, surgeon)
    support = plan.support_chances(world, child, planned.construct, bone, movements, surgeon)
    return np.asarray(
        np.where(occiput, up, 1 - up)
        * np.where(lower, down, 1 - down)
        * construct[:, planned.construct[0]]
        * (used == planned.anchors)
        * graft[:, planned.graft[0]]
        * support[:, planned.support[0]]
    )


def fields(rates: hazard.Rates) -> list[Floats]:
    return [np.asarray(getattr(rates, name)) for name in rates.__slots__]


def brute_force(made: Cohort, child: Child, planned: Plan, rng: np.random.Generator) -> tuple[list[Guess], list[Guess]]:
    """Share of drawn lives with either event, and mean exact risk over the same draws."""
    hidden, weights = unfold(made, child, planned, rng)
    possible = np.flatnonzero(weights)  # the others could not have had this plan, and count for nothing
    hidden, weights = take(hidden, possible), weights[possible]
    rates = hazard.rates(made.world, hazard.told(made.world, child, planned), child, hidden)
    every = hazard.Rates(*(np.broadcast_to(held, len(possible)) for held in fields(rates)))
    life = course.draw(rng, made.base, every)
    found = course.found(life, course.EDGES[1:])
    events = (found <= course.HORIZON_MONTHS, course.revision(life, found) <= course.HORIZON_MONTHS)
    exact = risk.exact(made.base, rates)
    lives = [weighted(event.astype(float), weights) for event in events]
    return lives, [weighted(exact.fixation_failure, weights), weighted(exact.revision, weights)]


@pytest.mark.parametrize("part", range(PARTS))
def test_told_truth_agrees_with_brute_force(made: Cohort, chosen: tuple[Child, Plan], part: int) -> None:
    rows = np.arange(part, CHILDREN, PARTS)
    told = truth.told(made.world, made.base, take(chosen[0], rows), take(chosen[1], rows))
    distances = []
    for place, row in enumerate(rows.tolist()):
        one = np.array([row])
        lives, exact = brute_force(made, take(chosen[0], one), take(chosen[1], one), np.random.default_rng([9, row]))
        written = (told.fixation_failure[place], told.revision[place])
        for guess, value in zip(lives + exact, (*written, *written), strict=True):
            assert guess.draws > 1000, f"child {row}: too few draws had this plan to tell anything"
            assert abs(guess.mean - value) < 4 * guess.error, f"child {row}: {value} against {guess}"
        distances += [(guess.mean - value) / guess.error for guess, value in zip(exact, written, strict=True)]
    assert abs(np.mean(distances)) < 4 / np.sqrt(len(rows)), "the truth is off in one direction"


def test_exact_risk_agrees_with_drawn_lives(made: Cohort) -> None:
    people = made.people
    for row in range(12):
        rates = hazard.Rates(*(np.broadcast_to(field, 2000)[[row]] for field in fields(people.rates)))
        many = hazard.Rates(*(np.repeat(field, DRAWS) for field in fields(rates)))
        life = course.draw(np.random.default_rng([1, row]), made.base, many)
        found = course.found(life, course.EDGES[1:])
        exact = risk.exact(made.base, rates)
        for seen, value in ((found, exact.fixation_failure[0]), (course.revision(life, found), exact.revision[0])):
            share = np.mean(seen <= course.HORIZON_MONTHS)
            assert abs(share - value) < 4 * np.sqrt(value * (1 - value) / DRAWS)


def test_a_finer_grid_changes_the_told_truth_by_less_than_a_tenth_of_a_percent(
    made: Cohort, chosen: tuple[Child, Plan]
) -> None:
    usual = truth.told(made.world, made.base, *chosen)
    fine = truth.told(made.world, made.base, *chosen, grid=truth.Grid(room=16, bone=9, pooled=7))
    np.testing.assert_allclose(usual.fixation_failure, fine.fixation_failure, rtol=1e-3)
    np.testing.assert_allclose(usual.revision, fine.revision, rtol=1e-3)


def test_both_truths_have_the_same_mean(made: Cohort) -> None:
    people, rows = made.people, np.arange(0, 2000, 4)
    child, planned, hidden = take(people.child, rows), take(people.plan, rows), take(people.hidden, rows)
    everything = truth.everything(made.world, made.base, child, planned, hidden)
    told = truth.told(made.world, made.base, child, planned)
    for name in ("fixation_failure", "revision"):
        apart = getattr(everything, name) - getattr(told, name)
        assert abs(apart.mean()) < 4 * apart.std() / np.sqrt(len(apart))


def test_in_noise_nothing_recorded_tells_anything() -> None:
    made = cohort.make(Recipe(children=100, scenario=Scenario.NOISE))
    people = made.people
    told: Risks = truth.told(made.world, made.base, people.child, people.plan)
    assert told.fixation_failure.std() < 1e-3  # deaths alone, which compete, differ by group
    assert abs(told.fixation_failure.mean() - 0.16) < 1e-3
