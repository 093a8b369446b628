"""The posterior: modes, evidence, leave-one-out, draws."""

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.special import expit
from scipy.stats import halfnorm

from training.posterior import SCALES, ColumnPriors, posterior


def simulated(n: int, seed: int, weights: bool = False) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    columns = np.column_stack([rng.standard_normal(n), rng.standard_normal(n), rng.random(n) < 0.4])
    columns -= columns.mean(axis=0)
    y = (rng.random(n) < expit(-1.0 + columns @ [0.8, -0.3, 0.5])).astype(float)
    return columns, y, rng.uniform(0.5, 2.0, n) if weights else np.ones(n)


PRIORS = ColumnPriors.flat_means(np.array([0, 0, 1], dtype=np.int8))


def test_the_gradient_is_zero_at_every_mode() -> None:
    columns, y, weights = simulated(120, 1, weights=True)
    found = posterior(columns, y, weights, PRIORS)
    design = np.column_stack([np.ones(120), columns])
    for scales, mode in zip(found.scales, found.modes, strict=True):
        precision = np.array([0.0, *(scales[[0, 0, 1]] ** -2.0)])
        slope = design.T @ (weights * (y - expit(design @ mode))) - precision * mode
        assert np.abs(slope).max() < 1e-6


def test_the_hessian_is_the_slope_of_the_gradient() -> None:
    columns, y, weights = simulated(60, 2, weights=True)
    found = posterior(columns, y, weights, PRIORS, scale=0.5)
    design = np.column_stack([np.ones(60), columns])

    def gradient(b: np.ndarray) -> np.ndarray:
        slope: np.ndarray = design.T @ (weights * (y - expit(design @ b))) - np.array([0.0, 4.0, 4.0, 4.0]) * b
        return slope

    step = 1e-5
    slopes = [
        (gradient(found.modes[0] + step * e) - gradient(found.modes[0] - step * e)) / (2 * step) for e in np.eye(4)
    ]
    assert found.hessians[0] == pytest.approx(-np.array(slopes), rel=1e-6)


def test_a_fit_with_counts_is_the_fit_on_repeated_rows() -> None:
    columns, y, weights = simulated(80, 3, weights=True)
    counts = np.random.default_rng(4).integers(0, 4, 80)
    means = np.average(columns, axis=0, weights=counts)
    once = posterior(columns - means, y, counts * weights, PRIORS)
    rows = np.repeat(np.arange(80), counts)
    repeated = posterior(columns[rows] - means, y[rows], weights[rows], PRIORS)
    assert once.mean == pytest.approx(repeated.mean, abs=1e-10)
    assert once.weights == pytest.approx(repeated.weights, abs=1e-10)


def test_the_evidence_is_close_to_the_integral() -> None:
    """Source: numerical integration (scipy.integrate) of likelihood times prior over base and one coefficient."""
    rng = np.random.default_rng(5)
    x = rng.standard_normal(40)
    x -= x.mean()
    y = (rng.random(40) < expit(-0.5 + x)).astype(float)
    found = posterior(x[:, None], y, np.ones(40), ColumnPriors.flat_means(np.zeros(1, dtype=np.int8)))

    def log_integral(scale: float) -> float:
        def density(slope: float, base: float) -> float:
            eta = base + slope * x
            log_likelihood = float(np.sum(y * eta - np.logaddexp(0.0, eta)))
            return float(np.exp(log_likelihood - 0.5 * (slope / scale) ** 2) / scale)

        value, _ = dblquad(density, -4.0, 3.0, -2.0, 4.0, epsabs=1e-14)
        return float(np.log(value) + np.log(halfnorm.pdf(scale)) + np.log(scale))

    exact = np.array([log_integral(scale) for scale in SCALES])
    laplace = np.log(found.weights)
    assert laplace - laplace.max() == pytest.approx(exact - exact.max(), abs=0.05)


def test_a_scale_that_acts_on_no_column_leaves_the_grid() -> None:
    columns, y, weights = simulated(60, 6)
    assert len(posterior(columns, y, weights, PRIORS).scales) == len(SCALES) ** 2
    one = ColumnPriors.flat_means(np.zeros(3, dtype=np.int8))
    assert len(posterior(columns, y, weights, one).scales) == len(SCALES)


def test_leaving_out_by_the_formula_is_close_to_leaving_out() -> None:
    columns, y, _ = simulated(60, 7)
    found = posterior(columns, y, np.ones(60), PRIORS, scale=0.5)
    for child in range(0, 60, 7):
        without = np.ones(60)
        without[child] = 0.0
        refitted = posterior(columns, y, without, PRIORS, scale=0.5)
        exact = refitted.mean[0] + columns[child] @ refitted.mean[1:]
        assert found.left_out[child] == pytest.approx(exact, abs=0.02)
        assert refitted.left_out[child] == pytest.approx(exact, abs=1e-12)


def test_all_copies_of_a_child_are_left_out_together() -> None:
    columns, y, _ = simulated(60, 8)
    twice = np.ones(60)
    twice[5] = 3.0
    found = posterior(columns, y, twice, PRIORS, scale=0.5)
    without = twice.copy()
    without[5] = 0.0
    refitted = posterior(columns, y, without, PRIORS, scale=0.5)
    assert found.left_out[5] == pytest.approx(refitted.left_out[5], abs=0.06)


def test_draws_have_the_mean_and_the_covariance_of_the_mixture() -> None:
    columns, y, weights = simulated(150, 9)
    found = posterior(columns, y, weights, PRIORS)
    drawn, scales = found.draws(20_000, np.random.default_rng(10))
    between = (found.modes - found.mean) * np.sqrt(found.weights)[:, None]
    within = np.einsum("g,gij->ij", found.weights, np.linalg.inv(found.hessians))
    assert drawn.mean(axis=0) == pytest.approx(found.mean, abs=3e-3)
    assert np.cov(drawn.T) == pytest.approx(within + between.T @ between, rel=0.05, abs=2e-3)
    assert np.isin(scales, SCALES).all()


def test_a_sourced_prior_keeps_its_sd_and_the_base_its_own() -> None:
    priors = ColumnPriors(np.array([0.4, 0.0]), np.array([0.2, np.nan]), np.array([0, 1], dtype=np.int8), -1.5, 0.6)
    precision = priors.precision(np.array([[0.1, 0.5]]))
    assert precision[0] == pytest.approx([0.6**-2, 0.2**-2, 0.5**-2])
    nothing = posterior(np.zeros((4, 2)), np.array([0.0, 1.0, 0.0, 0.0]), np.full(4, 1e-9), priors)
    assert nothing.mean == pytest.approx([-1.5, 0.4, 0.0], abs=1e-6)


def test_unheard_scales_are_those_of_their_own_prior() -> None:
    columns, y, weights = simulated(60, 6)
    found = posterior(columns, y, weights, PRIORS).unheard(1.0)
    # On a grid even in the logarithm a density counts times the scale; scipy's half-normal is the reference.
    held = (halfnorm.pdf(found.scales) * found.scales).prod(axis=1)
    assert found.weights == pytest.approx(held / held.sum())
    _, scales = found.draws(4_000, np.random.default_rng(1))
    assert scales.mean(axis=0) == pytest.approx(found.weights @ found.scales, abs=0.02)


def test_leave_one_out_is_the_formula_with_columns_that_hang_together() -> None:
    """eta - h w (y - p) / (1 - h W) with h = x' inv(H) x, by numpy's inverse; correlated columns need all of inv(H)."""
    columns, y, weights = simulated(60, 9, weights=True)
    columns = columns @ np.array([[1.0, 0.9, 0.4], [0.0, 0.3, 0.8], [0.0, 0.0, 1.0]])
    found = posterior(columns, y, weights, PRIORS, scale=0.5)
    design = np.column_stack([np.ones(60), columns])
    inverse, eta = np.linalg.inv(found.hessians[0]), design @ found.modes[0]
    h, p = np.einsum("ij,jk,ik->i", design, inverse, design), expit(eta)
    assert abs(inverse[1, 2]) > 0.1 * np.sqrt(inverse[1, 1] * inverse[2, 2])
    assert found.left_out == pytest.approx(eta - h * weights * (y - p) / (1.0 - h * weights * p * (1.0 - p)))
