"""The advice: what a cohort can carry, held against rms, against the formulas, and against brute force."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.cases.table import Floats
from riskmodel.errors import OutcomeRefused
from tests.reference import KYPHOSIS, kyphosis, reference
from tests.training.cohort.children import SHORT, Columns, children, write
from training import cohort as cohorts
from training import protocol as protocols
from training.advice import Advice, advise, document, lines
from training.advice import Path as Way
from training.advice.advise import degrees_of_freedom
from training.advice.beforehand import expected_c
from training.candidates import candidates
from training.cohort import Cohort, course
from training.features import declare, learn
from training.outcome import at_horizon
from training.posterior import NUMBER, ColumnPriors, posterior
from training.protocol import Protocol


def advised(cohort: Cohort, protocol: Protocol) -> Advice:
    return advise(cohort, protocol, at_horizon(cohort, protocol), declare(cohort, protocol))


def of_kyphosis(**fit: object) -> tuple[Cohort, Protocol]:
    protocol = protocols.read(KYPHOSIS / "kyphosis.toml")
    held = replace(protocol, fit=replace(protocol.fit, **fit))  # type: ignore[arg-type]
    return cohorts.read(KYPHOSIS / "kyphosis.csv", held), held


def of_children(path: Path, columns: Columns, under: str = SHORT) -> tuple[Cohort, Protocol]:
    protocol = protocols.read(under)
    return cohorts.read(write(columns, path / "children.csv"), protocol), protocol


@pytest.mark.parametrize("penalty", ["0.5", "1", "3", "10", "30"])
def test_degrees_of_freedom_equal_rms(penalty: str) -> None:
    """Source: rms::lrm with a quadratic penalty on columns standardised by their sample SD (a3)."""
    columns, y = kyphosis()
    sd = float(penalty) ** -0.5 / columns.std(axis=0, ddof=1)
    priors = ColumnPriors(np.zeros(3), sd, np.full(3, NUMBER, dtype=np.int8))
    found = posterior(columns - columns.mean(axis=0), y, np.ones(81), priors)
    expected = reference("a3_kyphosis_ridge")["fits"][penalty]["effective_df_excl_intercept"]
    assert degrees_of_freedom(found, priors) == pytest.approx(expected, abs=1e-6)


def test_what_the_kyphosis_cohort_can_carry_follows_the_formulas() -> None:
    """Source: Riley et al., Statistics in Medicine 2019;38:1276, criterion (i), worked by hand for 17 of 81."""
    found = advised(*of_kyphosis())
    rate = 17 / 81
    highest = 1 - (rate**rate * (1 - rate) ** (1 - rate)) ** 2
    assert found.carried.shrinkage == pytest.approx(81 * -0.1 * np.log(1 - 0.15 * highest / 0.9), rel=1e-12)
    assert (found.children, found.events, found.worth) == (81, 17, 81.0)
    assert found.degrees_of_freedom == pytest.approx(3.0)
    assert (found.path, found.refit) == (Way.RECALIBRATE, False)


def of_size(children_: int, events: int, *, times: int = 1) -> Advice:
    """Advice for the kyphosis protocol on so many children, each kyphosis row drawn again and again."""
    cohort, protocol = of_kyphosis()
    rows = np.resize(np.arange(81), children_ * times)
    status = np.zeros(children_ * times, dtype=np.int8)
    status[: events * times] = 1
    return advised(replace(cohort.take(rows), course=course(np.random.default_rng(1).permutation(status))), protocol)


def test_the_largest_series_of_one_centre_carries_about_one_effect() -> None:
    """Source: 127 occipitocervical fusions of one centre with 20 revisions, J Neurosurg Pediatr 2014; by Riley 2019."""
    found = of_size(127, 20)
    assert 1.0 <= found.carried.allowed < 1.5
    assert not found.carried.overall_risk_known
    assert not found.refit


def test_a_series_of_74_with_28_events_carries_none() -> None:
    """Source: conference abstract of 74 rigid O-C2 fusions, 38% with the event; criterion (iii) alone asks for 362."""
    found = of_size(74, 28)
    assert found.carried.allowed < 1.0
    assert found.required is not None
    assert found.required.overall_risk == 362
    assert found.path is Way.RECALIBRATE


def test_the_path_opens_with_the_size_of_the_cohort() -> None:
    assert of_size(40, 8).path is Way.CHECK_ONLY
    assert of_size(81, 17).path is Way.RECALIBRATE
    assert of_size(81, 17, times=12).path is Way.REFIT


def test_beliefs_open_the_path_of_updating(tmp_path: Path) -> None:
    held = of_children(tmp_path, children(300))
    assert advised(*held).path is Way.UPDATE
    cohort, protocol = held
    vague = replace(protocol, priors={"format": 1, "library": True})
    assert advised(cohort, vague).path is Way.RECALIBRATE


def test_nothing_is_advised_where_nothing_is_known(tmp_path: Path) -> None:
    cohort, protocol = of_children(tmp_path, children(60))
    nobody = replace(cohort, course=course(np.full(60, 3), np.full(60, np.nan)))
    with pytest.raises(OutcomeRefused, match="must be known, and differ"):
        advised(nobody, protocol)


def test_the_outcomes_take_no_part_in_the_prior_check(tmp_path: Path) -> None:
    cohort, protocol = of_children(tmp_path, children(60))
    status = cohort.course.status[::-1].copy()
    other = replace(cohort, course=course(status, cohort.course.timed[::-1].copy()))
    assert advised(cohort, protocol).beforehand == advised(other, protocol).beforehand


def brute_c(risks: Floats) -> float:
    case, other = risks[:, None], 1.0 - risks[None, :]
    higher = (risks[:, None] > risks[None, :]) + 0.5 * (risks[:, None] == risks[None, :])
    return float((case * other * higher).sum() / (case * other).sum())


def test_the_c_statistic_of_true_risks_is_that_of_the_double_sum() -> None:
    risks = np.random.default_rng(2).beta(1, 4, (3, 60))
    risks[0, :20] = risks[0, 20:40]
    assert expected_c(risks) == pytest.approx([brute_c(row) for row in risks], abs=1e-12)
    assert expected_c(np.full((1, 5), 0.2)) == pytest.approx([0.5], abs=1e-12)


def test_without_beliefs_the_prior_means_give_everybody_the_rate() -> None:
    found = advised(*of_kyphosis(scale=0.02)).beforehand
    assert found is not None
    assert found.base_from_cohort
    assert found.means.c == pytest.approx(0.5, abs=1e-12)
    assert found.means.risk_low == found.means.risk_high == pytest.approx(17 / 81)
    wide = advised(*of_kyphosis(scale=2.0)).beforehand
    assert wide is not None
    assert found.used.c < wide.used.c


def test_wide_priors_are_called_too_sure(tmp_path: Path) -> None:
    cohort, protocol = of_kyphosis(scale=2.0)
    assert "too sure" in "\n".join(lines(advised(cohort, protocol)))
    assert document(advised(cohort, protocol))["beforehand"]["priors_as_used"]["too_sure"] is True
    cohort, protocol = of_children(tmp_path, children(60))
    assert document(advised(cohort, protocol))["beforehand"]["priors_as_held"]["too_sure"] is False


def test_plain_likelihood_has_no_prior_to_check() -> None:
    assert advised(*of_kyphosis()).beforehand is None


def test_the_rate_alone_asks_for_no_effect() -> None:
    cohort, protocol = of_kyphosis()
    rate_only = replace(protocol, predictors=())
    assert [held.name for held in candidates(replace(rate_only, fit=replace(protocol.fit, candidates=("rate",))))]
    found = advised(cohort, rate_only)
    assert (found.columns, found.required, found.shrinkage_free) == (0, None, 1.0)


def test_the_document_tells_no_exact_count(tmp_path: Path) -> None:
    cohort, protocol = of_children(tmp_path, children(63))
    told = document(advised(cohort, protocol))
    assert told["reason"].startswith("At least 60 children with at least 15 events ")
    assert told["stamp"] == "for study, not for use"
    assert told["verdict"] == "do not refit"
    assert learn(cohort, protocol).columns.shape[0] == 63


def test_separated_events_leave_the_shrunk_model_without_degrees_of_freedom() -> None:
    cohort, protocol = of_kyphosis()
    start = cohort.cases["Start"].values
    separated = replace(cohort, course=course((start < 5).astype(np.int8)))
    found = advised(separated, protocol)
    assert found.degrees_of_freedom is None
    assert found.shrinkage_shrunk is None
    assert "no finite fit" in "\n".join(lines(found))
