"""The replays, against other software and against what must hold."""

import numpy as np
import pytest

from tests.reference import FOLDER, KYPHOSIS, reference
from training import cohort, protocol
from training.metrics import Measure
from training.replay import Study, prepare, run
from training.replay.result import correct


def study(**options: object) -> Study:
    held = protocol.read(KYPHOSIS / "kyphosis.toml")
    return prepare(cohort.read(KYPHOSIS / "kyphosis.csv", held), held, **options)  # type: ignore[arg-type]


def saved_resamples() -> np.ndarray:
    return np.loadtxt(FOLDER / "data" / "kyphosis_boot_idx0_B200_seed101.csv", delimiter=",", dtype=np.int64)


def test_saved_resamples_give_the_optimism_of_rms() -> None:
    """Source: rms::validate and stats::glm by hand on 200 saved resamples (a5)."""
    expected = reference("a5_kyphosis_bootstrap_fixed")
    found = run(study(), times=200, rng=np.random.default_rng(1), resamples=saved_resamples())
    by_hand, by_rms = expected["by_hand_glm_all"], expected["rms_validate"]
    assert found.measures["c"].harrell.value == pytest.approx(by_hand["c_corrected"], abs=1e-6)
    assert found.measures["brier"].harrell.value == pytest.approx(by_hand["brier_corrected"], abs=1e-6)
    assert found.measures["r2_recalibrated"].harrell.value == pytest.approx(by_rms["R2"]["index.corrected"], abs=1e-6)
    assert found.measures["intercept"].harrell.value == pytest.approx(by_hand["intercept_joint_corrected"], abs=1e-6)
    assert found.measures["citl"].harrell.value == pytest.approx(by_hand["intercept_offset_corrected"], abs=1e-6)
    slopes = found.per_replay["slope"]
    assert 1.0 - np.mean(slopes[:, 0] - slopes[:, 1]) == pytest.approx(by_hand["slope_corrected"], abs=1e-6)
    assert found.apparent.c.value == pytest.approx(expected["apparent"]["c"], abs=1e-12)
    assert not found.failed


def test_own_resamples_lie_in_the_band_of_rms() -> None:
    """Source: rms::validate over 8 seeds (a6); 4 of its standard deviations, twice that for a quarter of its B."""
    expected = reference("a6_kyphosis_validate_mc")["monte_carlo_summary"]
    found = run(study(), times=500, rng=np.random.default_rng(20261125))
    slopes = found.per_replay["slope"]
    means = {
        "C": found.measures["c"].harrell.value,
        "B": found.measures["brier"].harrell.value,
        "Intercept": found.measures["intercept"].harrell.value,
        "Slope": 1.0 - np.nanmean(slopes[:, 0] - slopes[:, 1]),
    }
    for name, value in means.items():
        band = 8.0 * expected[name]["sd_between_seeds"]
        assert value == pytest.approx(expected[name]["mean"], abs=band), name


def test_the_number_of_workers_changes_no_digit() -> None:
    alone = run(study(), times=25, rng=np.random.default_rng(7))
    shared = run(study(), times=25, rng=np.random.default_rng(7), workers=2)
    assert np.array_equal(alone.predictions, shared.predictions)
    assert alone.measures == shared.measures
    assert [held.positive.tolist() for held in alone.stability] == [held.positive.tolist() for held in shared.stability]


def test_progress_counts_every_replay() -> None:
    done: list[int] = []
    run(study(), times=25, rng=np.random.default_rng(7), progress=done.append)
    assert sum(done) == 25


def test_stability_says_which_way_a_term_pulled() -> None:
    found = run(study(), times=60, rng=np.random.default_rng(3))
    start = next(held for held in found.stability if held.term == "Start")
    low, high = start.columns[0], start.columns[-1]
    assert start.positive_share(low[None])[0] > 0.95
    assert start.positive_share(high[None])[0] < 0.05


def test_a_replay_without_events_is_counted_and_changes_no_mean() -> None:
    held = study()
    nobody = np.flatnonzero(held.outcome.label == 0)
    rows = saved_resamples()[:30]
    spoilt = rows.copy()
    spoilt[0] = np.resize(nobody, 81)
    found = run(held, times=30, rng=np.random.default_rng(1), resamples=spoilt)
    rest = run(held, times=29, rng=np.random.default_rng(1), resamples=rows[1:])
    assert found.failed == {"no event, or nothing but events, among the children drawn": 1}
    assert found.measures["c"].harrell.value == pytest.approx(rest.measures["c"].harrell.value, abs=1e-12)


def test_point632plus_by_hand() -> None:
    """Source: Efron and Tibshirani 1997, formulas (29) and (32), worked by hand (from memory)."""
    values = np.array([[0.9, 0.8, 0.70], [0.9, 0.8, 0.60]])
    found = correct("c", Measure(0.9), values, 0.5)
    overfit = (0.65 - 0.9) / (0.5 - 0.9)
    weight = 0.632 / (1 - 0.368 * overfit)
    assert found.point632plus.value == pytest.approx((1 - weight) * 0.9 + weight * 0.65)
    assert found.harrell.value == pytest.approx(0.8)
    worse_than_chance = correct("c", Measure(0.9), np.array([[0.9, 0.8, 0.4], [0.9, 0.8, 0.4]]), 0.5)
    assert worse_than_chance.point632plus.value == pytest.approx(0.5)
    assert correct("c", Measure(1.0), values, None).point632plus.reason is not None


def test_measures_that_the_fit_sets_have_no_interval_from_its_own_children() -> None:
    values = np.tile([1.0, 0.8, np.nan], (30, 1))
    found = correct("slope", Measure(1.0), values, None)
    assert found.low.value is None
    assert "needs other patients" in (found.high.reason or "")


def test_the_interval_holds_the_corrected_value() -> None:
    """Samples that flatter themselves by more than the optimism: the corrected value still lies within."""
    drawn = np.random.default_rng(1).normal(0.9, 0.03, 200)
    values = np.column_stack([drawn, drawn - 0.1, np.full(200, np.nan)])
    found = correct("c", Measure(0.8), values, 0.5)
    assert found.harrell.value == pytest.approx(0.7)
    low, high = found.low.value, found.high.value
    assert low is not None
    assert high is not None
    assert low < 0.7 < high
    assert high - low == pytest.approx(np.subtract(*np.quantile(drawn, [0.975, 0.025])))


def test_replays_of_the_cohort_itself_move_no_child() -> None:
    found = run(study(), times=5, rng=np.random.default_rng(1), resamples=np.tile(np.arange(81), (5, 1)))
    assert found.per_child_instability == pytest.approx(np.zeros(81), abs=1e-8)


def test_instability_is_the_mean_distance_from_the_estimate() -> None:
    held = study()
    whole = run(held, times=1, rng=np.random.default_rng(1), resamples=np.arange(81)[None]).predictions[0]
    found = run(held, times=30, rng=np.random.default_rng(1), resamples=saved_resamples()[:30])
    by_hand = [np.mean([abs(each[child] - whole[child]) for each in found.predictions]) for child in range(81)]
    assert found.per_child_instability == pytest.approx(by_hand, abs=1e-8)


def test_the_share_of_replays_that_came_out_as_the_rate(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the bound at the middle one of their spreads, half of them did."""
    held, rows = study(), saved_resamples()[:31]
    predictions = run(held, times=31, rng=np.random.default_rng(1), resamples=rows).predictions
    spreads = np.log(predictions / (1.0 - predictions)).std(axis=1)
    monkeypatch.setattr("training.replay.one.SHRUNK_SD", float(np.median(spreads)))
    found = run(held, times=31, rng=np.random.default_rng(1), resamples=rows)
    assert found.shrunk_to_rate == pytest.approx(15 / 31)
