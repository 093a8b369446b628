"""From lives to the tables of a registry."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from synthetic_cohort import recording, visits
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.recording import Table
from synthetic_cohort.records import Floats
from synthetic_cohort.tables import construct, midline, more, rows, sides
from synthetic_cohort.visits import FollowUp

# further columns of the children, then the further tables, by the dictionary's names
FURTHER: Final = ("more", "sides", "anatomy", "construct", "theatre", "measures", "screws", "events")
GAP: Final = 0.04  # share of the cells of a further table that are empty


def write_down(made: Cohort, recipe: Recipe, further: Sequence[str] = ()) -> dict[str, Table]:
    """The tables of a cohort by name, `children` first.

    `further` names what else is wanted, out of `FURTHER`. The core columns are the same with and without it.
    """
    follow_up, gaps = np.random.default_rng([recipe.seed, 1]).spawn(2)
    people = made.people
    seen = visits.follow(follow_up, people.body, made.life, censoring=recipe.censoring)
    children = recording.words(people.child, people.plan, seen)
    recording.leave_gaps(gaps, children, people.child, missing=recipe.missing)
    tables = _further(made, recipe, _as_recorded(seen, children), children["case_id"]) if further else {}
    if "more" in further:
        children |= tables["more"]
    return {"children": children, **{name: tables[name] for name in FURTHER if name in further and name != "more"}}


def _further(made: Cohort, recipe: Recipe, seen: FollowUp, keys: list[str]) -> dict[str, Table]:
    """Every further table; each has a generator of its own, so that none changes another."""
    streams = dict(zip(FURTHER, np.random.default_rng([recipe.seed, 3]).spawn(len(FURTHER)), strict=True))
    people, key = made.people, {"case_id": keys}
    by_side = sides.sides(streams["sides"], people)
    wide = {
        "more": more.more(streams["more"], people),
        "sides": key | by_side,
        "anatomy": key | midline.midline(streams["anatomy"], people),
        "construct": key | construct.construct(streams["construct"], people, by_side),
        "theatre": key | construct.theatre(streams["theatre"], people),
    }
    for name, table in wide.items():
        _leave_gaps(streams[name], table, GAP * recipe.missing)
    return wide | {
        "measures": rows.measures(streams["measures"], people, keys),
        "screws": rows.screws(streams["screws"], people, keys),
        "events": rows.events(streams["events"], made, seen, keys),
    }


def _as_recorded(seen: FollowUp, children: Table) -> FollowUp:
    """Without the events of children whose status is not known."""

    def known(name: str, at: Floats) -> Floats:
        return np.where(np.array(children[name]) == "unknown", np.inf, at)

    failure, revision = known("fixation_failure", seen.failure), known("revision", seen.revision)
    return replace(seen, failure=failure, revision=revision)


def _leave_gaps(rng: np.random.Generator, table: Table, share: float) -> None:
    for name, column in table.items():
        if name != "case_id":
            for place in np.flatnonzero(rng.random(len(column)) < share).tolist():
                column[place] = ""
