"""The ground that fits are judged on: protocols, drawn cohorts, and new children whose true risk is known.

The short protocol asks eight things of a child, the generator's table holds more. The true risk given what this model
is told is therefore the mean of the generator's risk (given the whole table) over children alike in those eight. It is
read off a logistic regression on the protocol's own columns, fitted without a penalty to the exact risks, not to
events, of `POPULATION` children; `left_over` says how much of the rest a flexible learner finds.
"""

import tempfile
import tomllib
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import cross_val_predict

from riskmodel.cases.table import CaseTable, Floats, State, column
from synthetic_cohort import cohort as lives
from synthetic_cohort import registry, truth, writing
from synthetic_cohort.cohort import Recipe
from synthetic_cohort.recording import Table
from synthetic_cohort.scenarios import Scenario
from tests.recovery.settings import POPULATION_SEED, PROTOCOL, TEST_SEED, Priors, Setting
from training import cohort as cohorts
from training import protocol as protocols
from training.cohort import Cohort
from training.features import declare, learn
from training.protocol import Protocol

SHIPPED: Final = Path(protocols.__file__).parents[1]
POPULATION: Final = 8_000
TESTED: Final = 1_000
EMPTIED: Final = ("reduces", "atlas_ring", "upper_level", "construct_kind", "weaker_end_anchors", "graft_kind")
EARLY: Final = 2017
KEPT: Final = Path(__file__).parents[2] / "build" / "recovery"


@cache
def protocol(priors: Priors = Priors.VAGUE, signs: int = 0) -> Protocol:
    """The short protocol with these priors and the shipped model alone; `signs` seeds which way means are wrong."""
    text = (SHIPPED / "protocols" / f"{PROTOCOL}.toml").read_text(encoding="utf-8")
    text = text.replace('candidates = ["rate", "penalised"]', 'candidates = ["penalised"]')
    with tempfile.TemporaryDirectory() as folder:
        if priors is Priors.WRONG:
            Path(folder, "wrong.toml").write_text(_moved(signs), encoding="utf-8")
        path = Path(folder, "protocol.toml")
        path.write_text(text.replace("published.toml", f"{priors.value}.toml"), encoding="utf-8")
        return protocols.read(path)


def _moved(signs: int) -> str:
    """The published priors, each mean one SD up or down."""
    lines = (SHIPPED / "priors" / "published.toml").read_text(encoding="utf-8").splitlines()
    rng = np.random.default_rng(signs)
    at = [place for place, line in enumerate(lines) if line.startswith("mean = ")]
    for place in at:
        entry = tomllib.loads("\n".join(lines[place : place + 2]))
        lines[place] = f"mean = {entry['mean'] + rng.choice([-1.0, 1.0]) * entry['sd']:.6g}"
    return "\n".join(lines)


def drawn(recipe: Recipe, under: Protocol, emptied: float = 0.0) -> Cohort:
    """A cohort as the pipeline reads it from a file."""
    tables = registry.write_down(lives.make(recipe), recipe)
    _empty(tables["children"], emptied, np.random.default_rng([recipe.seed, 9]))
    with tempfile.TemporaryDirectory() as folder:
        writing.write_folder(tables, Path(folder))
        return cohorts.read(Path(folder), under)


def _empty(children: Table, share: float, rng: np.random.Generator) -> None:
    """Empty cells in place: at random given the year, which the table tells."""
    early = np.array([int(year) < EARLY for year in children["operation_year"]])
    for name in EMPTIED:
        for place in np.flatnonzero(rng.random(len(early)) < share * np.where(early, 1.4, 0.6)).tolist():
            children[name][place] = ""


def emptied(cases: CaseTable, rng: np.random.Generator, share: float = 0.3) -> tuple[CaseTable, NDArray[np.bool_]]:
    """The cases with this share of the cells of `EMPTIED` made missing, and (n,) which cases lack any."""
    held, lacking = dict(cases.columns), np.zeros(len(cases), dtype=bool)
    for name in EMPTIED:
        gone = rng.random(len(cases)) < share
        old = held[name]
        held[name] = column(old.values, np.where(gone, int(State.MISSING), old.states).astype(np.int8), old.labels)
        lacking |= gone
    return replace(cases, columns=held), lacking


def training(setting: Setting, seed: int, under: Protocol) -> Cohort:
    """The cohort of one repeat."""
    recipe = Recipe(
        children=setting.children,
        seed=seed,
        scenario=setting.scenario,
        missing=setting.missing,
        censoring=setting.censoring,
    )
    return drawn(recipe, under, setting.emptied)


@dataclass(frozen=True, slots=True)
class Ground:
    """New children of a scenario and their true risks.

    `tested`: complete children; `asked` (n,): true risk given what the protocol asks for; `told` (n,): given the whole
    table. `left_over`: share of the variance of told - asked (log-odds, in the population) that boosted trees on the
    protocol's columns explain out of fold; 0 or less when they find nothing.
    """

    tested: Cohort
    asked: Floats
    told: Floats
    left_over: float


@cache
def ground(scenario: Scenario, population: int = POPULATION, tested: int = TESTED) -> Ground:
    """The ground of a scenario; what takes long is kept in build/recovery."""
    under = protocol()
    cohort, told = with_truth(scenario, TEST_SEED, tested, under)
    many, risk = with_truth(scenario, POPULATION_SEED, population, under)
    recipe = learn(many, under, declared=declare(many, under)).recipe
    columns, new = recipe.expected(many.cases), recipe.expected(cohort.cases)
    if np.ptp(risk) < 1e-9:
        return Ground(cohort, np.full(len(cohort), risk.mean()), told, 0.0)
    form = expected_fit(columns, risk)
    rest = logit(risk) - form.decision_function(columns)
    trees = HistGradientBoostingRegressor(max_iter=60, learning_rate=0.05, min_samples_leaf=50, random_state=0)
    found = cross_val_predict(trees, columns, rest, cv=5)
    return Ground(cohort, form.predict_proba(new)[:, 1], told, float(1.0 - np.var(rest - found) / np.var(rest)))


def expected_fit(columns: Floats, risk: Floats) -> LogisticRegression:
    """Logistic regression without penalty to n risks: each row once with the event and once without, by its chance."""
    double = np.vstack([columns, columns])
    label = np.repeat([1, 0], len(risk))
    model = LogisticRegression(C=1e6, max_iter=10_000)
    return model.fit(double, label, sample_weight=np.concatenate([risk, 1.0 - risk]))


def logit(risk: Floats) -> Floats:
    """(n,) log-odds."""
    return np.log(risk / (1.0 - risk))


def with_truth(scenario: Scenario, seed: int, children: int, under: Protocol) -> tuple[Cohort, Floats]:
    """A complete cohort and the risk of each child that is eligible, given the whole table."""
    recipe = Recipe(children=children, seed=seed, scenario=scenario, missing=0.0)
    made = lives.make(recipe)
    keys = registry.write_down(made, recipe)["children"]["case_id"]
    by_key = dict(zip(keys, _risk(made, f"{scenario.value}-{seed}-{children}").tolist(), strict=True))
    cohort = drawn(recipe, under)
    return cohort, np.array([by_key[key] for key in cohort.cases.keys])


def _risk(made: lives.Cohort, name: str) -> Floats:
    """(n,) true risks, read from the file of an earlier run if these very lives were integrated then."""
    path, mark = KEPT / f"{name}.npz", float(np.sum(made.people.child.age_years)) + made.base.hazard
    if path.is_file():
        with np.load(path) as held:
            if held["mark"] == mark:
                return np.asarray(held["risk"])
    risk = truth.told(made.world, made.base, made.people.child, made.people.plan).fixation_failure
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez(path, risk=risk, mark=mark)
    return risk
