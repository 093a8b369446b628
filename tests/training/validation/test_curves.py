"""Curves and bands: what must hold of them, whatever the cohort."""

from dataclasses import replace

import numpy as np
import pytest

from tests import demonstration
from training.metrics import net_benefit
from training.replay import prepare, run
from training.validation.curves import Curves, curves


def of(name: str = "revision_24m") -> Curves:
    trained = demonstration.trained(name)
    return curves(trained.cohort, trained.protocol, trained.outcome, trained.replays)


def test_the_bands_are_bands() -> None:
    found = of()
    for low, high in (
        (found.calibration.low, found.calibration.high),
        (found.decision.low, found.decision.high),
        (found.instability.low, found.instability.high),
    ):
        assert (low <= high).all()
    assert ((found.calibration.observed >= 0.0) & (found.calibration.observed <= 1.0)).all()


def test_the_decision_curve_is_the_net_benefit_of_the_model() -> None:
    trained, found = demonstration.trained(), of()
    known = trained.cohort.course.known.astype(np.int64)
    expected = net_benefit(
        trained.outcome.label,
        trained.fitted.probability,
        trained.outcome.weight,
        np.linspace(0.05, 0.30, 26),
        known,
    )
    assert found.decision.apparent == pytest.approx(expected.model, abs=1e-12)
    assert found.decision.treat_all == pytest.approx(expected.treat_all, abs=1e-12)


def test_correcting_lowers_the_curve_of_a_model_that_overfits() -> None:
    found = of()
    assert found.decision.corrected.mean() < found.decision.apparent.mean()


def test_replays_that_draw_the_cohort_itself_correct_nothing() -> None:
    trained = demonstration.trained()
    everyone = np.tile(np.arange(len(trained.cohort)), (3, 1))
    study = prepare(trained.cohort, trained.protocol, declared=trained.declared)
    replays = run(study, times=3, rng=np.random.default_rng(1), resamples=everyone)
    found = curves(trained.cohort, trained.protocol, trained.outcome, replays)
    assert found.calibration.observed == pytest.approx(found.calibration.apparent, abs=1e-6)
    assert found.decision.corrected == pytest.approx(found.decision.apparent, abs=1e-6)
    assert found.instability.high - found.instability.low == pytest.approx(np.zeros(len(trained.cohort)), abs=1e-6)


def test_replays_that_all_failed_leave_a_reason() -> None:
    trained = demonstration.trained()
    nobody = replace(trained.replays, predictions=np.full_like(trained.replays.predictions, np.nan))
    found = curves(trained.cohort, trained.protocol, trained.outcome, nobody)
    assert found.calibration.reason == "no replay gave a curve"
    assert found.decision.reason == "every replay failed"


def test_everybody_is_in_the_distribution() -> None:
    trained, held = demonstration.trained(), of().distribution
    children = float(np.count_nonzero(trained.cohort.course.known))
    assert held.events.sum() + held.non_events.sum() == pytest.approx(children)
    assert held.not_known.sum() == np.count_nonzero(~trained.outcome.known & trained.cohort.course.known)
