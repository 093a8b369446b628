"""EM for a Gaussian with holes."""

import numpy as np
import pytest
from scipy.optimize import minimize

from training.moments import PRIOR_CHILDREN, Gaussian, learn


def sample(n: int, seed: int, holes: float) -> np.ndarray:
    rng = np.random.default_rng(seed)
    factor = np.array([[1.0, 0.0, 0.0], [0.5, 0.8, 0.0], [-0.3, 0.4, 1.2]])
    x: np.ndarray = rng.standard_normal((n, 3)) @ factor.T + [1.0, -2.0, 0.5]
    x[rng.random(x.shape) < holes] = np.nan
    return x


def test_without_holes_it_is_the_mean_and_the_covariance_with_the_prior_on_the_diagonal() -> None:
    x = sample(50, 1, 0.0)
    found = learn(x, np.ones(50))
    covariance = np.cov(x.T, ddof=0)
    expected = (50 * covariance + PRIOR_CHILDREN * np.diag(np.diag(covariance))) / (50 + PRIOR_CHILDREN)
    assert found.mean == pytest.approx(x.mean(axis=0))
    assert found.covariance == pytest.approx(expected)


def test_copies_count_as_rows() -> None:
    x = sample(40, 2, 0.3)
    counts = np.random.default_rng(3).integers(0, 3, 40)
    repeated = learn(np.repeat(x, counts, axis=0), np.ones(counts.sum()))
    found = learn(x, counts.astype(float))
    assert found.mean == pytest.approx(repeated.mean, abs=1e-10)
    assert found.covariance == pytest.approx(repeated.covariance, abs=1e-10)


def test_it_maximises_the_likelihood_of_what_is_known() -> None:
    """Source: scipy.optimize on the observed-data likelihood, written out here, with many children to outweigh the
    prior on the diagonal."""
    x = sample(3000, 4, 0.25)
    found = learn(x, np.ones(len(x)), steps=400, tol=1e-12)
    patterns, group = np.unique(np.isnan(x), axis=0, return_inverse=True)

    def loss(theta: np.ndarray) -> float:
        factor = np.zeros((3, 3))
        factor[np.tril_indices(3)] = theta[3:]
        covariance, total = factor @ factor.T, 0.0
        for g, mask in enumerate(patterns):
            if mask.all():
                continue
            rows = x[group.ravel() == g][:, ~mask] - theta[:3][~mask]
            part = covariance[np.ix_(~mask, ~mask)]
            total += 0.5 * len(rows) * np.linalg.slogdet(part)[1] + 0.5 * np.sum(rows @ np.linalg.inv(part) * rows)
        return total / len(x)

    start = np.concatenate([found.mean, np.linalg.cholesky(found.covariance)[np.tril_indices(3)]])
    best = minimize(loss, start, method="BFGS", options={"gtol": 1e-7})
    factor = np.zeros((3, 3))
    factor[np.tril_indices(3)] = best.x[3:]
    assert found.mean == pytest.approx(best.x[:3], abs=2e-3)
    assert found.covariance == pytest.approx(factor @ factor.T, abs=6e-3)


def test_a_warm_start_comes_close_in_three_steps() -> None:
    x = sample(300, 5, 0.3)
    start = learn(x, np.ones(300))
    counts = np.bincount(np.random.default_rng(6).integers(0, 300, 300), minlength=300).astype(float)
    warm, converged = learn(x, counts, start=start), learn(x, counts)
    assert np.abs(warm.covariance - converged.covariance).max() < 0.03
    assert np.abs(warm.mean - converged.mean).max() < 0.02


def test_a_constant_and_an_unknown_coordinate_leave_it_invertible() -> None:
    x = np.column_stack([np.ones(20), np.full(20, np.nan), np.arange(20.0)])
    found = learn(x, np.ones(20))
    np.linalg.cholesky(found.covariance)
    assert found.mean[0] == pytest.approx(1.0)
    assert isinstance(found, Gaussian)
