import tomllib
from pathlib import Path

import numpy as np
import pytest

from synthetic_cohort import casemix, cohort, truth
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.records import Floats
from synthetic_cohort.scenarios import STRONG_CONDITION, Scenario, setting

CHILDREN = 8_000
PRIORS = Path(__file__).parents[2] / "training" / "priors" / "published.toml"


def failure(made: Cohort) -> Floats:
    people = made.people
    return truth.everything(made.world, made.base, people.child, people.plan, people.hidden).fixation_failure


def made_in(scenario: Scenario) -> Cohort:
    return cohort.make(Recipe(children=CHILDREN, seed=2, scenario=scenario))


@pytest.mark.parametrize(("scenario", "rate"), [(s, 0.06 if s is Scenario.RARE else 0.16) for s in Scenario])
def test_every_scenario_has_the_rate_that_it_was_made_for(scenario: Scenario, rate: float) -> None:
    assert abs(failure(made_in(scenario)).mean() - rate) < 0.006


def test_drift_halves_the_risk_from_its_year_on() -> None:
    made, plain = made_in(Scenario.DRIFT), made_in(Scenario.PLAIN)
    late = made.people.child.year >= 2018
    np.testing.assert_array_equal(made.people.child.year, plain.people.child.year)
    # the same children in both worlds: late against early, relative to what plain has
    fall = failure(made)[late].mean() / failure(made)[~late].mean()
    usual = failure(plain)[late].mean() / failure(plain)[~late].mean()
    assert 0.47 < fall / usual < 0.53


def test_the_strong_syndrome_stands_out() -> None:
    made, plain = made_in(Scenario.STRONG_SYNDROME), made_in(Scenario.PLAIN)
    has = made.people.child.condition == casemix.CONDITION.index(STRONG_CONDITION)
    assert 0.02 < has.mean() < 0.06, "a rare condition"
    assert failure(made)[has].mean() > 3 * failure(plain)[has].mean()
    assert failure(made)[has].mean() > 2.5 * failure(made)[~has].mean()


def test_small_centres_are_many_unequal_and_differ_more() -> None:
    made, plain = made_in(Scenario.SMALL_CENTRES), made_in(Scenario.PLAIN)
    sizes = np.bincount(made.people.child.centre)
    assert len(sizes) == 14
    assert sizes.max() > 3 * sizes.min()
    np.testing.assert_allclose(made.world.centre, 2 * plain.world.centre)


def test_noise_keeps_the_rates_and_loses_every_effect() -> None:
    made = made_in(Scenario.NOISE)
    assert all(not values.any() for values in made.world.effects.values())
    assert failure(made).std() < 1e-3


def test_dirty_is_the_plain_cohort() -> None:
    np.testing.assert_array_equal(failure(made_in(Scenario.DIRTY)), failure(made_in(Scenario.PLAIN)))


def test_effects_are_partly_contrary() -> None:
    worlds = [setting(Scenario.PLAIN, seed).world for seed in range(400)]
    for name, usual in (("anchor", -0.25), ("lost_anchor", 0.5), ("down_without_occiput", 0.9)):
        drawn = np.array([world.effects[name][0, 0] for world in worlds])
        contrary = np.mean(np.sign(drawn) != np.sign(usual))
        assert 0.1 < contrary < 0.5, f"{name}: {contrary:.0%} of the worlds go the other way"


def test_worlds_follow_their_seed_and_nothing_else() -> None:
    first, again, other = (setting(Scenario.PLAIN, seed).world for seed in (5, 5, 6))
    assert all(np.array_equal(first.effects[name], again.effects[name]) for name in first.effects)
    assert not np.array_equal(first.effects["condition"], other.effects["condition"])
    one, two = (cohort.make(Recipe(children=50, seed=seed)).world for seed in (1, 2))
    assert np.array_equal(one.effects["condition"], two.effects["condition"])


def test_effects_are_drawn_more_widely_than_one_would_assume_beforehand() -> None:
    # the priors that the software starts from, by term and column
    shared = {
        ("age_years", None): ("age_doubling", 0),
        ("condition", "dysplasia"): ("group", 2),
        ("condition", "fragility"): ("group", 4),
        ("condition", "down"): ("down", 0),
        ("condition", None): ("condition", 5),
        ("involuntary_movements", None): ("movements", 0),
        ("prior_cvj_surgery", None): ("prior_surgery", 0),
        ("nurick_grade", None): ("nurick", 0),
        ("bone_density_z", None): ("bone", 0),
        ("reduces", None): ("reduces", 1),
        ("adi_mm", None): ("adi_per_mm", 0),
        ("gap_excess_mm", None): ("gap_per_mm", 0),
        ("atlas_ring", "posterior_open"): ("ring", 1),
        ("atlas_ring", "both_open"): ("ring", 3),
        ("includes_occiput", None): ("occiput", 0),
        ("n_segments", None): ("segment", 0),
        ("construct_kind", "transarticular_cable"): ("construct", 1),
        ("construct_kind", "hook_or_wire_rod"): ("construct", 2),
        ("construct_kind", "no_rigid_metal"): ("construct", 3),
        ("weaker_end_anchors", None): ("anchor", 0),
        ("graft_kind", "structural_own"): ("graft", 1),
        ("graft_kind", "none"): ("graft", 3),
        ("planned_support", "halo"): ("support", 3),
        ("operation_year", None): ("decade", 0),
    }
    document = tomllib.loads(PRIORS.read_text(encoding="utf-8"))
    priors = {
        (entry["term"], entry.get("column")): entry["sd"]
        for entry in document["prior"]
        if entry.get("outcome", "fixation_failure") == "fixation_failure"
    }
    worlds = [setting(Scenario.PLAIN, seed).world for seed in range(600)]
    for key, (name, place) in shared.items():
        # six in ten failures are mechanical
        drawn = [float(np.array([0.6, 0.4]) @ world.effects[name][:, place]) for world in worlds]
        assert np.std(drawn) > priors[key], f"{key}: {np.std(drawn):.3f} against {priors[key]}"
