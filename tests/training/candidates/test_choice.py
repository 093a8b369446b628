"""The rule of one standard error: by hand, where nothing is to be found, and where something is."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit
from scipy.stats import sem

from tests.training.candidates.studies import fitted, study
from training.candidates import OneStandardError, SumOfTerms, chosen, paired_difference
from training.candidates.choice import choose
from training.protocol import ONE_STANDARD_ERROR, FitRules, Protocol
from training.replay import prepare, run


def by_rule(protocol: Protocol) -> Protocol:
    return replace(protocol, fit=FitRules(choose=ONE_STANDARD_ERROR))


def test_the_error_of_a_difference_is_that_of_paired_losses() -> None:
    """Source: scipy.stats.sem of the differences, with the divisor n."""
    rng = np.random.default_rng(1)
    first, second = rng.random(50), rng.random(50)
    mean, error = paired_difference(first, second, np.full(50, 3.0))
    assert mean == pytest.approx((first - second).mean(), abs=1e-12)
    assert error == pytest.approx(sem(first - second, ddof=0), abs=1e-12)
    holes = np.where(np.arange(50) < 10, np.nan, first)
    assert paired_difference(holes, second, np.ones(50))[0] == pytest.approx((first - second)[10:].mean())
    assert paired_difference(np.full(50, np.nan), second, np.ones(50)) == (0.0, 0.0)


def test_a_copy_counts_as_a_row() -> None:
    rng = np.random.default_rng(1)
    first, second, weights = rng.random(30), rng.random(30), rng.uniform(1.0, 1.5, 30)
    counts = rng.integers(0, 4, 30).astype(np.float64)
    rows = np.repeat(np.arange(30), counts.astype(int))
    repeated = paired_difference(first[rows], second[rows], weights[rows])
    assert paired_difference(first, second, weights, counts) == pytest.approx(repeated, abs=1e-12)


def test_every_child_is_left_out_once_and_without_its_copies() -> None:
    rng = np.random.default_rng(2)
    x = rng.normal(size=120)
    cohort, protocol = study(rng.random(120) < expit(x - 1.0), {"a": x})
    seen: list[np.ndarray] = []

    class Watch(SumOfTerms):
        def fit(self, design, cohort, outcome, *, counts, rng):  # type: ignore[no-untyped-def]
            seen.append(counts.copy())
            return SumOfTerms.fit(self, design, cohort, outcome, counts=counts, rng=rng)

    watch = Watch("rate", rank=0, uses_terms=False)
    counts = np.bincount(rng.integers(0, 120, 120), minlength=120).astype(np.float64)
    fitted(OneStandardError(protocol, (watch,)), cohort, protocol, counts)
    *folds, whole = seen
    assert np.array_equal(whole, counts)
    left_out = sum((fold == 0) & (counts > 0) for fold in folds)
    assert (left_out[counts > 0] == 1).all()


def test_the_simplest_within_one_error_is_taken() -> None:
    weights = counts = np.ones(4)
    best = np.array([1.0, 1.0, 1.0, 1.0])
    near = np.array([0.5, 1.6, 0.5, 1.6])  # mean 1.05, error 0.275
    far = np.array([1.5, 1.6, 1.5, 1.6])
    assert choose(np.stack([best, near]), weights, counts, [2, 0]) == 1
    assert choose(np.stack([best, far]), weights, counts, [2, 0]) == 0
    assert choose(np.stack([best, near]), weights, counts, [0, 2]) == 0


def test_noise_is_given_the_rate_and_a_signal_the_terms() -> None:
    rng = np.random.default_rng(2)
    x = {"a": rng.normal(size=300), "b": rng.normal(size=300)}
    cohort, protocol = study(rng.random(300) < 0.2, x)
    assert fitted(chosen(by_rule(protocol)), cohort, protocol).name == "rate"
    cohort, protocol = study(rng.random(300) < expit(2.0 * x["a"] - 1.0), x)
    assert fitted(chosen(by_rule(protocol)), cohort, protocol).name == "penalised"


def test_the_rule_is_followed_again_in_every_replay() -> None:
    rng = np.random.default_rng(8)
    x = {"a": rng.normal(size=120), "b": rng.normal(size=120)}
    cohort, protocol = study(rng.random(120) < expit(0.7 * x["a"] - 1.2), x)
    found = run(prepare(cohort, by_rule(protocol)), times=25, rng=np.random.default_rng(1))
    assert sum(found.chosen.values()) == 25
    assert set(found.chosen) == {"rate", "penalised"}
    assert found.fitted.name in found.chosen


def test_what_is_chosen_is_what_the_option_itself_gives() -> None:
    rng = np.random.default_rng(2)
    x = {"a": rng.normal(size=300)}
    cohort, protocol = study(rng.random(300) < expit(2.0 * x["a"] - 1.0), x)
    alone = fitted(SumOfTerms("penalised", rank=2, uses_terms=True), cohort, protocol)
    ruled = fitted(chosen(by_rule(protocol)), cohort, protocol)
    assert ruled.probability == pytest.approx(alone.probability, abs=1e-12)
