"""Before and after: limits, directions, and the conflict that has to be standard normal when the prior is true."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit

from tests.training.candidates.studies import study
from tests.training.validation.worlds import examined, plain
from training.protocol import Protocol
from training.validation.beliefs import Learned, before_and_after
from training.validation.refit import Examined


def believed(protocol: Protocol, mean: float, sd: float, base: float | None = None) -> Protocol:
    entry = {"term": "a", "mean": mean, "sd": sd, "per": "unit", "source": "nobody", "confidence": "H"}
    more = [] if base is None else [{**entry, "term": "base", "mean": base, "sd": 0.5}]
    return replace(protocol, priors={"format": 1, "prior": [entry, *more]})


def of_a(held: Examined) -> Learned:
    return next(each for each in before_and_after(held) if each.term == "a")


def test_a_sure_prior_stays_where_it_is() -> None:
    cohort, protocol = plain()
    found = of_a(examined(cohort, believed(protocol, 0.3, 1e-4)))
    assert found.posterior_mean == pytest.approx(0.3, abs=1e-3)
    assert found.posterior_sd == pytest.approx(1e-4, rel=1e-3)
    assert not found.spoke


def test_a_wide_prior_gives_way_to_the_data() -> None:
    cohort, protocol = plain()
    found = of_a(examined(cohort, believed(protocol, 0.0, 20.0)))
    assert found.spoke
    assert found.narrowed is not None
    assert found.narrowed < 0.05
    flat = examined(cohort, replace(protocol, fit=replace(protocol.fit, scale="flat")))
    assert found.posterior_mean == pytest.approx(of_a(flat).posterior_mean, rel=0.02)
    assert of_a(flat).prior_sd is None
    assert of_a(flat).moved is None


def test_a_prior_on_the_wrong_side_is_called_a_conflict() -> None:
    cohort, protocol = plain(slope=1.5)
    assert of_a(examined(cohort, believed(protocol, -1.0, 0.3))).in_conflict
    assert not of_a(examined(cohort, believed(protocol, 1.4, 0.3))).in_conflict


def test_the_conflict_is_standard_normal_where_the_prior_is_true() -> None:
    """By the law of total variance a posterior mean varies by prior less posterior variance; exact for a Gaussian."""
    rng = np.random.default_rng(20261125)
    found = []
    for _ in range(150):
        x = rng.normal(size=250)
        slope = rng.normal(0.2, 0.4)
        y = rng.random(250) < expit(slope * x - 0.5)
        cohort, protocol = study(y, {"a": x})
        found.append(of_a(examined(cohort, believed(protocol, 0.2, 0.4))).conflict)
    conflicts = np.array(found, dtype=np.float64)
    assert abs(conflicts.mean()) < 3 / np.sqrt(150)
    assert conflicts.std() == pytest.approx(1.0, abs=3 / np.sqrt(300))


def test_a_higher_prior_mean_moves_risks_less_the_more_there_is_to_see() -> None:
    def moved(count: int) -> float:
        cohort, protocol = plain(count)
        return of_a(examined(cohort, believed(protocol, 0.2, 0.4))).if_mean_rose or 0.0

    assert 0.0 < moved(1200) < moved(150)


def test_the_base_comes_first_with_its_source() -> None:
    cohort, protocol = plain()
    flat = before_and_after(examined(cohort, believed(protocol, 0.2, 0.4)))[0]
    held = before_and_after(examined(cohort, believed(protocol, 0.2, 0.4, base=-1.0)))[0]
    assert (flat.term, flat.prior_sd, flat.source) == ("base", None, None)
    assert (held.prior_mean, held.prior_sd, held.source) == (-1.0, 0.5, "nobody")


def test_effects_without_a_belief_learn_their_sd() -> None:
    cohort, protocol = plain()
    found = next(each for each in before_and_after(examined(cohort, believed(protocol, 0.2, 0.4))) if each.term == "b")
    assert found.sd_learned
    assert found.source is None
    assert found.prior_sd is not None
    assert 0.05 <= found.prior_sd <= 1.5
