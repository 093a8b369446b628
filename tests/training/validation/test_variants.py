"""Other specifications, definitions, windows and priors, against the fit that was shipped."""

from dataclasses import replace

import numpy as np
import pytest

from tests import demonstration
from tests.training.validation.worlds import examined, plain
from training.candidates import KNOWN
from training.features import declare
from training.protocol import Factor, Form, Interaction, priors_document
from training.validation.beliefs import before_and_after
from training.validation.definitions import by_definition, by_window
from training.validation.refit import Examined
from training.validation.sensitivity import of_priors
from training.validation.specifications import MAIN_EFFECTS, SPLINES, three
from training.validation.variants import spread


def test_the_shipped_specification_moves_nobody() -> None:
    first = three(examined(*plain())).variants[0]
    assert first.moved == pytest.approx(0.0, abs=1e-12)
    assert first.c.value is not None


def test_what_cannot_be_specified_otherwise_says_why() -> None:
    found = {each.name: each for each in three(examined(*plain())).variants}
    assert found[MAIN_EFFECTS].reason == "no interaction is declared"
    assert found[SPLINES].moved is not None
    cohort, protocol = plain()
    bent = replace(protocol, predictors=tuple(replace(each, form=Form.SPLINE) for each in protocol.predictors))
    found = {each.name: each for each in three(examined(cohort, bent)).variants}
    assert found[SPLINES].reason == "no number enters as a line"


def test_an_interaction_makes_the_third_specification() -> None:
    cohort, protocol = plain()
    asked = replace(protocol, interactions=(Interaction((Factor("a"), Factor("b"))),))
    found = three(examined(cohort, asked))
    assert [each.reason for each in found.variants] == [None, None, None]
    assert found.spread_90 is not None
    assert found.spread_mean is not None
    assert found.spread_90 >= found.spread_mean > 0.0


def test_the_spread_is_the_largest_less_the_smallest() -> None:
    risks = (np.array([0.1, 0.2]), np.array([0.3, 0.2]), np.array([0.2, 0.25]))
    assert spread(risks) == pytest.approx(((0.2 + 0.05) / 2, np.quantile([0.2, 0.05], 0.9)))


def test_on_the_demonstration_every_definition_is_told_and_the_own_one_agrees() -> None:
    held = Examined.of(demonstration.trained())
    found = {each.name: each for each in by_definition(held)}
    own = found["revision"]
    assert own.own
    assert own.events == held.outcome.events
    assert own.refitted.moved == pytest.approx(0.0, abs=1e-9)
    assert own.rate == pytest.approx(demonstration.bundle().cohort_rate)
    other = found["fixation_failure"]
    assert other.events > own.events
    assert other.shipped.observed_expected.value is not None
    assert other.shipped.observed_expected.value > 1.0


def test_a_wider_window_loses_nobody_more() -> None:
    held = Examined.of(demonstration.trained())
    found = by_window(held)
    assert [each.months for each in found] == [0.0, 2.0, 4.0]
    assert [each.own for each in found] == [False, True, False]
    lost = [each.lost_before_horizon for each in found]
    assert lost == sorted(lost, reverse=True)
    assert lost[0] - lost[1] == found[1].in_window
    assert found[1].refitted.moved == pytest.approx(0.0, abs=1e-9)


def test_a_plain_outcome_has_no_other_definition_and_no_window() -> None:
    held = examined(*plain())
    assert by_definition(held) == ()
    assert by_window(held) == ()


def with_priors(sd: float, mean: float = 0.0) -> Examined:
    """The world with a sourced prior on `a`."""
    entry = {"term": "a", "mean": mean, "sd": sd, "per": "unit", "source": "nobody", "confidence": "H"}
    cohort, protocol = plain()
    return examined(cohort, replace(protocol, priors={"format": 1, "prior": [entry]}))


def test_sourced_priors_halved_and_doubled_pull_to_either_side() -> None:
    held = with_priors(0.2)
    found = {each.name: each for each in of_priors(held)}
    halved, doubled = found["SDs of the 1 sourced priors halved"], found["SDs of the 1 sourced priors doubled"]
    assert halved.moved is not None
    assert doubled.moved is not None
    assert halved.moved > 0.005
    assert doubled.moved > 0.005
    tight, wide = (with_priors(sd).fitted.coefficients[0] for sd in (0.1, 0.4))  # type: ignore[index]
    own = held.fitted.coefficients[0]  # type: ignore[index]
    assert tight < own < wide


def test_moved_means_move_the_estimates_with_them() -> None:
    held = with_priors(0.2, mean=0.5)
    names = [each.name for each in of_priors(held)]
    assert "every prior mean one SD further from 0" in names
    assert "every prior mean one SD towards 0, and past it" in names


def test_the_vague_variant_is_the_fit_under_the_vague_file() -> None:
    held = with_priors(0.2, mean=0.5)
    vague = replace(held.protocol, priors=priors_document("vague.toml"))
    alone = examined(held.cohort, vague)
    found = next(each for each in of_priors(held) if each.name.startswith("vague"))
    by_hand = np.abs(alone.fitted.probability - held.fitted.probability).mean()
    assert found.moved == pytest.approx(by_hand, abs=1e-8)


def test_a_narrow_hyperprior_shrinks_the_scales() -> None:
    cohort, protocol = plain()
    declared = declare(cohort, protocol)

    def scale(sd: float) -> float:
        held = examined(cohort, protocol)
        priors = replace(declared.priors, hyper_sd=sd)
        return held.again(declared=replace(declared, priors=priors)).fitted.log.scales[0]

    assert scale(0.1) < scale(1.0) < scale(5.0)


def test_without_priors_there_is_nothing_to_vary() -> None:
    cohort, protocol = plain()
    flat = replace(protocol, fit=replace(protocol.fit, scale="flat"))
    assert of_priors(examined(cohort, flat)) == ()


def test_the_rate_alone_has_no_priors_to_vary() -> None:
    cohort, protocol = plain()
    held = examined(cohort, replace(protocol, priors=priors_document("vague.toml")))
    rate = KNOWN["rate"](protocol)
    fitted = rate.fit(held.design, cohort, held.outcome, counts=np.ones(len(cohort)), rng=np.random.default_rng(1))
    alone = replace(held, fitted=fitted, kind=rate, rule=rate)
    assert of_priors(alone) == ()
    assert before_and_after(alone) == ()
    assert [each.moved for each in three(alone).variants if each.moved is not None] == pytest.approx([0.0, 0.0])
