"""The written truth against brute force: lives are drawn, nothing is integrated."""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.special import ndtr

from synthetic_cohort import anatomy, children, cohort, course, hazard, norms, plan, risk, truth
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.records import NOT_IMAGED, NOT_TESTED, Child, Floats, Hidden, Plan, each, pick, take
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


def weighted(values: Floats, weights: Floats) -> Guess:
    share = weights / weights.sum()
    mean = float(share @ values)
    return Guess(mean, float(np.sqrt(share**2 @ (values - mean) ** 2)))


def unfold(made: Cohort, child: Child, planned: Plan, rng: np.random.Generator) -> tuple[Hidden, Floats, Child, Plan]:
    """Everything hidden of one child, drawn in causal order, and how well each draw explains what was recorded."""
    many = each(child, lambda value: np.repeat(value, DRAWS))
    plans = each(planned, lambda value: np.repeat(value, DRAWS))
    world = made.world
    causes = rng.standard_normal((DRAWS, len(norms.CAUSES)))
    bone, surgeon = rng.standard_normal(DRAWS), pick(rng, world.habits.share[many.centre])
    movements = rng.random(DRAWS) < children.movement_chance(many.condition)
    arteries = [
        np.where(told == NOT_IMAGED, pick(rng, norms.ARTERY[many.group]), told)
        for told in (many.artery_right, many.artery_left)
    ]
    bones = anatomy.bones(rng, age_years=many.age_years, group=many.group, artery=np.stack(arteries, axis=1))
    tested = pick(rng, children.reduction_chances(many.condition, many.indication))
    weights = reading_weights(many, causes) * plan_weights(made, many, plans, bones, bone, surgeon, movements, rng)
    lost = rng.random(DRAWS) < hazard.lost_anchor_chance(many, plans.anchors, bones.room, bone)
    pooled = hazard.pooled_mean(world, many.condition)
    pooled = pooled + (hazard.pooled_loadings(world, many.condition) * causes).sum(axis=1)
    reduces = np.where(many.reduces == NOT_TESTED, tested, many.reduces)
    return Hidden(bones.room, bone, surgeon, movements, reduces, lost, pooled), weights, many, plans


def reading_weights(many: Child, causes: Floats) -> Floats:
    """Density of the readings and chance of the Nurick grade at the drawn distances."""
    adi = norms.adi_mean_mm(many.condition) + (causes * norms.adi_loadings_mm(many.condition)).sum(axis=1)
    canal = norms.canal_mean_mm(many.condition, many.age_years)
    canal = canal + (causes * norms.canal_loadings_mm(many.condition)).sum(axis=1)
    weights = np.ones(DRAWS)
    for read, true, sd in (
        (many.adi_mm, adi, norms.ADI_READER_SD_MM),
        (many.padi_mm, canal, norms.CANAL_READER_SD_MM),
    ):
        if not np.isnan(read[0]):
            weights = weights * np.exp(-(((read - true) / sd) ** 2) / 2)
    if many.nurick[0] >= 0:
        cuts = np.concatenate([[-np.inf], norms.NURICK_CUTS, [np.inf]])
        sign = norms.NURICK_PER_MM * (13.0 - canal)
        weights = weights * (ndtr(cuts[many.nurick[0] + 1] - sign) - ndtr(cuts[many.nurick[0]] - sign))
    return weights


def plan_weights(
    made: Cohort,
    many: Child,
    plans: Plan,
    bones: anatomy.Bone,
    bone: Floats,
    surgeon: np.ndarray,
    movements: np.ndarray,
    rng: np.random.Generator,
) -> Floats:
    """Chance of every decision that was taken, from the sides, plate and habits actually drawn."""
    world, every = made.world, np.arange(DRAWS)
    atlas, axis = bones.atlas_firm.sum(axis=1), bones.axis_firm.sum(axis=1)
    lower = plans.extra_levels > 0
    up, down = (
        plan.occiput_chance(world, many, atlas, bone, surgeon),
        plan.lower_chance(world, many, axis, bone, surgeon),
    )
    plate = 1 + (rng.random(DRAWS) < plan.two_occipital_chance(many))
    joined = rng.random(DRAWS) < world.habits.atlas_screws_with_occiput[many.centre, surgeon]
    anchors = np.minimum(np.where(plans.occiput, plate + joined * atlas, atlas), axis + 2 * lower)
    construct = plan.construct_chances(world, many, anchors, surgeon, occiput=plans.occiput, lower=lower)
    used = np.select([plans.construct < 2, plans.construct == 2], [anchors, np.minimum(anchors, 1)], 0)
    graft = plan.graft_chances(world, many, bone, surgeon)
    support = plan.support_chances(world, many, plans.construct, bone, movements, surgeon)
    return np.asarray(
        np.where(plans.occiput, up, 1 - up)
        * np.where(lower, down, 1 - down)
        * construct[every, plans.construct]
        * (used == plans.anchors)
        * graft[every, plans.graft]
        * support[every, plans.support]
    )


def brute_force(made: Cohort, child: Child, planned: Plan, rng: np.random.Generator) -> tuple[list[Guess], list[Guess]]:
    """Share of drawn lives with either event, and mean exact risk over the same draws."""
    hidden, weights, many, plans = unfold(made, child, planned, rng)
    possible = np.flatnonzero(weights)  # the others could not have had this plan, and count for nothing
    weights = weights[possible]
    hidden, many, plans = take(hidden, possible), take(many, possible), take(plans, possible)
    rates = hazard.rates(made.world, hazard.told(made.world, many, plans), many, hidden)
    life = course.draw(rng, made.base, rates)
    found = course.found(life, course.EDGES[1:])
    events = (found <= course.HORIZON, course.revision(life, found) <= course.HORIZON)
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
            assert abs(guess.mean - value) < 4 * guess.error, f"child {row}: {value} against {guess}"
        distances += [(guess.mean - value) / guess.error for guess, value in zip(exact, written, strict=True)]
    assert abs(np.mean(distances)) < 4 / np.sqrt(len(rows)), "the truth is off in one direction"


def test_exact_risk_agrees_with_drawn_lives(made: Cohort) -> None:
    people = made.people
    for row in range(12):
        rates = hazard.Rates(*(np.broadcast_to(field, 2000)[[row]] for field in _fields(people.rates)))
        many = hazard.Rates(*(np.repeat(field, DRAWS) for field in _fields(rates)))
        life = course.draw(np.random.default_rng([1, row]), made.base, many)
        found = course.found(life, course.EDGES[1:])
        exact = risk.exact(made.base, rates)
        for seen, value in ((found, exact.fixation_failure[0]), (course.revision(life, found), exact.revision[0])):
            share = np.mean(seen <= course.HORIZON)
            assert abs(share - value) < 4 * np.sqrt(value * (1 - value) / DRAWS)


def _fields(rates: hazard.Rates) -> list[Floats]:
    return [np.asarray(getattr(rates, name)) for name in rates.__slots__]


def test_a_finer_grid_changes_the_told_truth_by_less_than_a_tenth_of_a_percent(
    made: Cohort, chosen: tuple[Child, Plan]
) -> None:
    usual = truth.told(made.world, made.base, *chosen)
    fine = truth.told(made.world, made.base, *chosen, grid=truth.Grid(room=16, bone=9, pooled=7))
    np.testing.assert_allclose(usual.fixation_failure, fine.fixation_failure, rtol=1e-3)
    np.testing.assert_allclose(usual.revision, fine.revision, rtol=1e-3)


def test_both_truths_have_the_same_mean(made: Cohort) -> None:
    people, rows = made.people, np.arange(0, 2000, 2)
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
