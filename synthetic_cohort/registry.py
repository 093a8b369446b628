"""From lives to the tables of a registry."""

import numpy as np

from synthetic_cohort import recording, visits
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.recording import Table


def write_down(made: Cohort, recipe: Recipe) -> dict[str, Table]:
    """The tables of a cohort by name, `children` first."""
    follow_up, gaps = np.random.default_rng([recipe.seed, 1]).spawn(2)
    people = made.people
    seen = visits.follow(follow_up, people.body, made.life, censoring=recipe.censoring)
    children = recording.words(people.child, people.plan, seen)
    recording.leave_gaps(gaps, children, people.child, missing=recipe.missing)
    return {"children": children}
