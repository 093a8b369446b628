"""A small slice of the study, and that the page says what the rows say."""

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression

from synthetic_cohort.scenarios import Scenario
from tests.recovery import judging, report, store
from tests.recovery.ground import expected_fit, logit, protocol, training, with_truth
from tests.recovery.settings import PROTOCOL, TUNING_SEED, VERDICT_SEED, Priors, Setting
from tests.recovery.stages import STAGES
from tests.recovery.summary import jackknife, mean, ratio, tables
from training import protocol as protocols
from training.fitting import fit
from training.fitting.simulated import COVERAGE, nearest

SLICE = Setting("slice", Scenario.PLAIN, 150)
MIB = 2**20


def test_the_replays_do_not_move_what_is_shown() -> None:
    under = protocol()
    cohort = training(SLICE, TUNING_SEED, under)
    once, often = (fit(cohort, under, times=times).bundle for times in (1, 3))
    assert once.intercept == often.intercept
    assert np.array_equal(once.coefficients, often.coefficients)
    assert np.array_equal(once.draws, often.draws)
    assert once.signal == often.signal


def test_the_variant_of_the_protocol_differs_in_priors_and_candidates_alone() -> None:
    shipped, ours = protocols.read(PROTOCOL), protocol(Priors.PUBLISHED)
    assert ours.predictors == shipped.predictors
    assert ours.outcome == shipped.outcome
    assert ours.fit.scale == shipped.fit.scale
    assert ours.fit.choose == shipped.fit.choose == "penalised"
    assert ours.priors == shipped.priors
    assert protocol(Priors.VAGUE).priors is not None
    assert protocol(Priors.WRONG, 1) != protocol(Priors.WRONG, 2)


def test_an_unpenalised_fit_to_risks_is_the_limit_of_fits_to_events() -> None:
    rng = np.random.default_rng(1)
    columns = rng.standard_normal((40_000, 2))
    risk = 1.0 / (1.0 + np.exp(-(-1.0 + columns @ np.array([0.8, -0.5]))))
    exact = expected_fit(columns, risk)
    assert exact.coef_[0] == pytest.approx([0.8, -0.5], abs=1e-3)
    drawn = LogisticRegression(C=np.inf).fit(columns, rng.random(len(risk)) < risk)
    assert drawn.coef_[0] == pytest.approx(exact.coef_[0], abs=0.06)
    assert judging.true_slope(logit(risk) * 2.0, risk) == pytest.approx(0.5, abs=1e-3)
    assert judging.true_slope(np.zeros(len(risk)), risk) is None


def test_the_true_c_is_the_share_of_pairs_in_the_right_order() -> None:
    risk = np.array([0.1, 0.3, 0.8])
    pairs = sum(
        risk[i] * (1 - risk[j]) * (1.0 if risk[i] > risk[j] else 0.5 if i == j else 0.0)
        for i in range(3)
        for j in range(3)
    )
    every = risk.sum() * (1 - risk).sum()
    assert judging.true_c(risk, risk) == pytest.approx(pairs / every)
    assert judging.true_c(np.ones(3), risk) == pytest.approx(0.5)


def test_the_interval_score_punishes_misses_twenty_times_at_ninety_per_cent() -> None:
    seen = judging.Shown(np.ones(2, dtype=bool), np.full(2, 0.2), np.full(2, 0.1), np.full(2, 0.3))
    assert judging.interval_score(seen, np.array([0.2, 0.2])) == pytest.approx(0.2)
    assert judging.interval_score(seen, np.array([0.2, 0.4])) == pytest.approx(0.2 + 20 * 0.1 / 2)
    assert judging.covered(seen, np.array([0.1, 0.31])).tolist() == [True, False]


def test_a_run_that_was_cut_goes_on_where_it_was(tmp_path: Path) -> None:
    file = tmp_path / "x.csv"
    store.append(file, {"setting": "b", "seed": 2, "value": 0.123456789})
    store.append(file, {"setting": "a", "seed": 10, "value": None})
    with file.open("a") as held:
        held.write("a,9,0.")
    store.settle(file)
    assert file.read_text() == "setting,seed,value\na,10,\nb,2,0.12346\n"
    assert store.done(file) == {("a", 10), ("b", 2)}


def test_errors_between_repeats_are_those_of_the_handbook() -> None:
    # The jackknife of a mean is the usual standard error of the mean (Efron and Tibshirani 1993, chapter 11).
    values = np.array([1.0, 4.0, 2.0, 7.0, np.nan])
    assert jackknife(lambda rows: float(values[rows].mean()), ~np.isnan(values)) == pytest.approx(mean(values))
    assert ratio(values, 2.0 * values) == pytest.approx((0.5, 0.0))


def test_no_seed_serves_both_tuning_and_verdict() -> None:
    seeds: dict[bool, set[int]] = {True: set(), False: set()}
    for name, stage in STAGES.items():
        own = {seed for _, seed in stage.tasks(stage.count)}
        assert len(own) == len(stage.settings) * stage.count, f"{name}: two cohorts of one seed"
        seeds[name.startswith("tuning")] |= own
    assert min(seeds[True]) >= TUNING_SEED > max(seeds[False])
    assert min(seeds[False]) >= VERDICT_SEED


def test_the_page_says_what_the_rows_say() -> None:
    text = report.PAGE.read_text(encoding="utf-8")
    assert report.page(text) == text, "docs/recovery.md is not what its rows give: make recovery-report"
    assert set(re.findall(r"<!-- (\w+) -->\n", text)) - {"end"} == set(report.TABLES)


def test_what_cards_quote_is_what_was_measured() -> None:
    measured = {name: mean(table["coverage"])[0] for name, table in tables("coverage").items()}
    for quoted in COVERAGE:
        name = f"{'plain' if quoted.rate > 0.1 else 'rare'}-{quoted.children}"
        assert quoted.coverage == pytest.approx(measured[name], abs=0.0051), name
    assert len(COVERAGE) == len(measured)


def test_only_cohorts_that_are_alike_are_quoted() -> None:
    assert nearest(348, 0.158) == {"children": 300, "rate": 0.16, "coverage": COVERAGE[1].coverage}
    assert nearest(70, 0.16) is None
    assert nearest(300, 0.4) is None


def test_rows_are_small_and_unique() -> None:
    files = sorted(store.FOLDER.glob("*.csv"))
    assert sum(file.stat().st_size for file in files) < MIB
    for file in (store.path(name) for name in STAGES):
        keys = [(row["setting"], row["seed"]) for row in store.rows(file)]
        assert len(keys) == len(set(keys)), file.name


def test_a_repeat_covers_most_truths_in_the_slice() -> None:
    # One small cohort, judged on the exact risks of a few children given the whole table: a smoke test of the chain.
    under = protocol()
    tested, told = with_truth(Scenario.PLAIN, TUNING_SEED + 1, 120, under)
    cohort = training(dataclasses.replace(SLICE, children=400), TUNING_SEED, under)
    seen = judging.shown(fit(cohort, under, times=1).bundle, tested.cases)
    truth = told[seen.rows]
    assert seen.rows.mean() > 0.4
    assert judging.covered(seen, truth).mean() > 0.5
    assert judging.error(seen.risk, truth) < 0.12
