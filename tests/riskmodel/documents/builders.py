"""A small bundle made by hand: a number, a level with groups, a state, a product; every number chosen to be seen."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from riskmodel import derive
from riskmodel import dictionary as dictionaries
from riskmodel.bundle import (
    Bundle,
    GateSettings,
    LocalCheck,
    OutcomeText,
    Published,
    Ranges,
    Support,
    SupportCell,
    Use,
)
from riskmodel.derive import Derivation
from riskmodel.dictionary.model import Dictionary, Moment
from riskmodel.documents.cautions import cautions
from riskmodel.eligibility import Requirement
from riskmodel.missing import Block, Holds, Moments, balanced_normals
from riskmodel.model import Stability
from riskmodel.terms import LevelColumn, Levels, Linear, Part, Product, States, Term

ON = date(2026, 12, 1)
OCCIPUT = Derivation("includes_occiput", "equals", ("upper_level",), "O")
NAMES = ("age_years", "condition", "reduces", "upper_level", "prior_cvj_surgery")
DRAWS = 120

PERFORMANCE: Mapping[str, Any] = {
    "leads": "point632plus",
    "definitions": {"c": "how well it sorts", "slope": "1 is right"},
    "measures": {
        "slope": {
            "apparent": 1.2,
            "harrell": 0.9,
            "point632plus": None,
            "low": 0.5,
            "high": 1.4,
            "reason": "not defined for this measure",
        },
        "c": {"apparent": 0.75, "harrell": 0.7, "point632plus": 0.69, "low": 0.6, "high": 0.8, "reason": None},
    },
    "replays": {"times": 500, "failed": {}, "shrunk_to_rate": 0.02},
    "instability": {"mean": 0.04},
    "priors": [{"term": "age_years", "column": "", "mean": -0.15, "sd": 0.15, "source": "own reading"}],
}
COHORT: Mapping[str, Any] = {
    "children": "at least 120",
    "events": "at least 20",
    "years": [2011, 2024],
    "made_of": {"non_union": "at least 10", "screw_pull_out": "fewer than 5"},
    "left_out": {"no known course": "at least 5"},
    "missing_share": {"reduces": 0.25, "age_years": 0.0},
}


def dictionary() -> Dictionary:
    whole = dictionaries.read("cvj")
    part = dictionaries.restricted(whole, NAMES, "fixation_failure")
    return derive.extended(part, (OCCIPUT,))


def terms(held: Dictionary) -> tuple[Term, ...]:
    condition = held.variables["condition"].codes
    loose = tuple(level.code for level in held.variables["condition"].levels if level.group == "laxity")
    down = LevelColumn("down", ("down",))
    product = Product((Part("condition", Levels(condition, (down,))), Part("includes_occiput", Linear(), negated=True)))
    return (
        Term("age_years", ("age_years",), Linear(8.0, 1.0, (1.5, 18.0), log2=True)),
        Term("condition", ("condition",), Levels(condition, (LevelColumn("laxity", loose), down))),
        Term("reduces", ("reduces",), Linear()),
        Term("reduces:states", ("reduces",), States(("not_tested",))),
        Term("condition=down x not includes_occiput", ("condition", "includes_occiput"), product),
    )


def moments(held: Dictionary) -> Moments:
    blocks = (
        Block("age_years", Holds.NUMBER, centre=8.0, scale=1.0, bounds=(0.0, 25.0)),
        Block("condition", Holds.LEVEL, ("down",), "non_syndromic", held.variables["condition"].codes),
        Block("reduces", Holds.STATE, ("not_tested",), codes=("not_tested",)),
        Block("reduces", Holds.NUMBER, centre=0.0, scale=1.0, bounds=(0.0, 2.0)),
        Block("upper_level", Holds.LEVEL, ("O",), "C1", held.variables["upper_level"].codes),
    )
    covariance = np.diag([16.0, 0.2, 0.1, 0.5, 0.2])
    normals = np.random.default_rng(1).standard_normal((DRAWS, len(blocks)))
    return Moments(blocks, np.array([0.5, 0.25, 0.1, 0.6, 0.4]), covariance, normals, balanced_normals(len(blocks)))


def bundle(**changes: Any) -> Bundle:
    """The bundle, with some of its fields replaced."""
    held = dictionary()
    built = terms(held)
    coefficients = np.array([-0.3, 0.25, 0.3, 0.12, 0.1, 0.6])
    spread = 0.2 * np.random.default_rng(2).standard_normal((DRAWS, 1 + len(coefficients)))
    base = Bundle(
        format=1,
        id="small",
        title="A small model",
        demonstration=False,
        use=Use.STUDY,
        released=date(2026, 11, 25),
        review_by=date(2028, 11, 25),
        parents=(),
        made_with={"riskmodel": "0.1.0"},
        protocol={"name": "small", "outcome": {"visit_window_months": 2}},
        dictionary=held,
        outcome=OutcomeText("fixation_failure", "The fixation or the bone did not hold", 24.0, "whatever came first"),
        terms=built,
        derive=(OCCIPUT,),
        intercept=-2.0,
        coefficients=coefficients,
        column_means=np.array([0.1, 0.3, 0.2, 0.6, 0.1, 0.1]),
        draws=np.concatenate([[-2.0], coefficients]) + spread,
        moments=moments(held),
        stability=(Stability("age_years", np.array([[-1.0], [1.0]]), np.array([0.9, 0.1])),),
        ranges=Ranges({"age_years": (1.5, 17.5)}, {"upper_level": ("O", "C1")}),
        support=(Support(("biology_group",), (SupportCell(("laxity",), 40), SupportCell(("none",), 5))),),
        gates=GateSettings(
            Moment.PLAN, ("fixation_failure",), (), (Requirement("prior_cvj_surgery", at_most=1.0),), 10
        ),
        cohort_rate=0.16,
        signal=True,
        published=Published("in published series 5 to 30 in 100 did not hold", 0.05, 0.30, "nobody in particular"),
        cohort=COHORT,
        advice={"verdict": "check only"},
        performance=PERFORMANCE,
        local_checks=(),
        updates=(),
        cautions=cautions(demonstration=False),
        digest="0123456789abcdef" * 4,
    )
    return replace(base, **changes)


CHECKED = LocalCheck(date(2027, 6, 1), "North unit", 43, 4, 1.1, 0.7, 1.6, 0.71)
