"""One repeat of each stage: a cohort of this setting and seed, fitted, and held against the truth."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import OutcomeRefused
from tests.recovery import judging
from tests.recovery.ground import Ground, emptied, ground, protocol, training
from tests.recovery.judging import Shown
from tests.recovery.settings import Priors, Setting
from tests.recovery.store import Row, Value
from training.candidates import Fitted, chosen
from training.cohort import Cohort
from training.features import Design, declare, learn
from training.fitting import Trained, fit
from training.fitting.assemble import has_signal
from training.outcome import Outcome, at_horizon, check_enough
from training.protocol import Protocol

OPTIMISM_REPLAYS: Final = 100


def coverage(setting: Setting, seed: int) -> Iterator[Row]:
    """Intervals and errors. The shown numbers do not depend on the replays (a test says so), so that there is one."""
    under = protocol(setting.priors, seed if setting.priors is Priors.WRONG else 0)
    held = ground(setting.scenario)
    try:
        trained = fit(training(setting, seed, under), under, times=1)
    except OutcomeRefused:
        yield {**_head(setting, seed), **dict.fromkeys(_COVERAGE), "refused": True}
        return
    numbers = {**dict.fromkeys(_COVERAGE), **_facts(trained), **_judged(trained, held)}
    yield {**_head(setting, seed), **numbers}


def gaps(setting: Setting, seed: int) -> Iterator[Row]:
    """New children with some cells emptied, beside themselves complete: do intervals widen, and hold the truth?"""
    under, held = protocol(setting.priors), ground(setting.scenario)
    trained = fit(training(setting, seed, under), under, times=1)
    cases, lacking = emptied(held.tested.cases, np.random.default_rng(seed))
    whole, holed = (judging.shown(trained.bundle, each) for each in (held.tested.cases, cases))
    both = whole.rows & holed.rows & lacking
    yield {
        **_head(setting, seed),
        "signal": trained.bundle.signal,
        "judged": int(both.sum()),
        **_seen("whole", whole.among(both), held.asked[both]),
        **_seen("holed", holed.among(both), held.asked[both]),
    }


def _seen(name: str, seen: Shown, truth: Floats) -> Row:
    holds = judging.covered(seen, truth)
    return {
        f"coverage_{name}": float(holds.mean()),
        f"width_{name}": seen.width,
        f"error_{name}": judging.error(seen.risk, truth),
    }


def _head(setting: Setting, seed: int) -> Row:
    return {"setting": setting.name, "seed": seed}


def _facts(trained: Trained) -> Row:
    return {
        "refused": False,
        "events": trained.outcome.events,
        "known": int(np.count_nonzero(trained.outcome.known)),
        "signal": trained.bundle.signal,
        "gain": trained.fitted.gain,
    }


def _judged(trained: Trained, held: Ground) -> Row:
    seen = judging.shown(trained.bundle, held.tested.cases)
    if not seen.rows.any():
        return {"shown": 0.0}
    columns = judging.expected_columns(trained.bundle, held.tested.cases)
    log_odds = judging.model_log_odds(trained.bundle, columns)[seen.rows]
    rival = judging.cross_validated(trained, columns)[seen.rows]
    asked, told = held.asked[seen.rows], held.told[seen.rows]
    holds = judging.covered(seen, asked)
    rate = np.full(len(asked), trained.bundle.cohort_rate)
    return {
        "shown": float(seen.rows.mean()),
        "coverage": float(holds.mean()),
        "coverage_told": float(judging.covered(seen, told).mean()),
        "width": seen.width,
        "interval_score": judging.interval_score(seen, asked),
        "bias": float((seen.risk - asked).mean()),
        "sd_log_odds": judging.spread(log_odds),
        "error": judging.error(seen.risk, asked),
        "error_cv": judging.error(rival, asked),
        "error_rate": judging.error(rate, asked),
        "error_told": judging.error(seen.risk, told),
        "error_told_cv": judging.error(rival, told),
        "error_told_rate": judging.error(rate, told),
        "error_told_oracle": judging.error(asked, told),
        **_tenths("p", judging.by_tenth(holds, log_odds)),
        **_tenths("t", judging.by_tenth(holds, asked)),
    }


def _tenths(letter: str, values: Floats) -> Row:
    return {f"{letter}{tenth}": value for tenth, value in enumerate(values.tolist(), start=1)}


_COVERAGE: Final = (
    *("refused", "events", "known", "signal", "gain", "shown", "coverage", "coverage_told", "width", "interval_score"),
    *("bias", "sd_log_odds", "error", "error_cv", "error_rate", "error_told", "error_told_cv", "error_told_rate"),
    "error_told_oracle",
    *(f"{letter}{tenth}" for letter in "pt" for tenth in range(1, judging.TENTHS + 1)),
)


def signal(setting: Setting, seed: int) -> Iterator[Row]:
    """Whether the cohort is said to hold a signal; no replays."""
    under = protocol(setting.priors)
    cohort = training(setting, seed, under)
    outcome = at_horizon(cohort, under)
    empty = {"refused": True, "events": outcome.events, "known": None, "gain": None, "signal": None}
    try:
        check_enough(outcome)
    except OutcomeRefused:
        yield {**_head(setting, seed), **empty}
        return
    _, fitted = _fitted(cohort, under, outcome)
    known = int(np.count_nonzero(outcome.known))
    found: Row = {"refused": False, "known": known, "gain": fitted.gain, "signal": has_signal(fitted, outcome)}
    yield {**_head(setting, seed), **empty, **found}


def _fitted(cohort: Cohort, under: Protocol, outcome: Outcome) -> tuple[Design, Fitted]:
    """The shipped candidate on the cohort as it is."""
    design = learn(cohort, under, declared=declare(cohort, under))
    rng = np.random.default_rng(under.seed)
    return design, chosen(under).fit(design, cohort, outcome, counts=np.ones(len(cohort)), rng=rng)


def optimism(setting: Setting, seed: int) -> Iterator[Row]:
    """Corrected c and slope against those of the fitted model among new children."""
    under, held = protocol(setting.priors), ground(setting.scenario)
    trained = fit(training(setting, seed, under), under, times=OPTIMISM_REPLAYS)
    columns = judging.expected_columns(trained.bundle, held.tested.cases)
    log_odds = judging.model_log_odds(trained.bundle, columns)
    c, slope = trained.replays.measures["c"], trained.replays.measures["slope"]
    yield {
        **_head(setting, seed),
        "events": trained.outcome.events,
        "signal": trained.bundle.signal,
        "sd_log_odds": judging.spread(log_odds),
        "c_apparent": c.apparent.value,
        "c_harrell": c.harrell.value,
        "c_point632plus": c.point632plus.value,
        "c_true": judging.true_c(log_odds, held.told),
        "slope_corrected": trained.bundle.corrected("slope"),
        "slope_harrell": slope.harrell.value,
        "slope_true": judging.true_slope(log_odds, held.told),
        "shrunk_to_rate": trained.replays.shrunk_to_rate,
    }


def censoring(setting: Setting, seed: int) -> Iterator[Row]:
    """Mean risk given to new children, with weights for the censored and with the censored dropped."""
    under, held = protocol(setting.priors), ground(setting.scenario)
    cohort = training(setting, seed, under)
    outcome = at_horizon(cohort, under)
    dropped = replace(outcome, weight=outcome.known.astype(np.float64))
    numbers: dict[str, Value] = {
        "events": outcome.events,
        "censored": outcome.censored_before / len(cohort),
        "observed": float(held.told.mean()),
    }
    for name, used in (("weighted", outcome), ("dropped", dropped)):
        design, fitted = _fitted(cohort, under, used)
        assert fitted.coefficients is not None
        log_odds = (fitted.intercept or 0.0) + design.recipe.expected(held.tested.cases) @ fitted.coefficients
        numbers[f"expected_{name}"] = float((1.0 / (1.0 + np.exp(-log_odds))).mean())
    yield {**_head(setting, seed), **numbers}
