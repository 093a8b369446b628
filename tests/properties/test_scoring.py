"""Scoring: parts add up to the whole, and company, order and strangers' columns change nothing."""

import json
from dataclasses import asdict
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.documents import answer, answer_text
from riskmodel.scoring import RiskEstimate, Scorer
from riskmodel.tables import RawTable
from tests.properties import SOME
from tests.riskmodel.documents.builders import ON, bundle

SCORER = Scorer(bundle())
CONDITIONS = SCORER.bundle.dictionary.variables["condition"].codes
CASES = st.fixed_dictionaries(
    {
        "age_years": st.one_of(st.just(""), st.integers(15, 175).map(lambda tenths: str(tenths / 10))),
        "condition": st.sampled_from(("", *CONDITIONS)),
        "reduces": st.sampled_from(("", "awake", "under_traction", "not_tested", "irreducible")).filter(
            lambda code: not code or code in (*SCORER.bundle.dictionary.variables["reduces"].codes, "not_tested")
        ),
        "upper_level": st.sampled_from(("", "O", "C1")),
        "prior_cvj_surgery": st.sampled_from(("0", "1")),
    }
)
TABLES = st.lists(CASES, min_size=2, max_size=5)


def score(rows: list[dict[str, str]], names: list[str] | None = None) -> tuple[RiskEstimate, ...]:
    """The rows as a table with its columns in this order."""
    order = names or list(rows[0])
    numbers = tuple(range(2, 2 + len(rows)))
    raw = RawTable("cases", tuple(order), tuple(tuple(row[name] for name in order) for row in rows), 1, numbers)
    return SCORER.score_table(SCORER.read_table(raw)[0], on=ON)


def keyed(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [{"case_id": f"X-{place}", **row} for place, row in enumerate(rows)]


def alike(one: RiskEstimate, other: RiskEstimate) -> None:
    """The same to the last digits that summation in another order may move."""
    first, second = (json.loads(json.dumps(asdict(held))) for held in (one, other))
    _close(first, second)


def _close(one: Any, other: Any) -> None:
    if isinstance(one, dict):
        assert one.keys() == other.keys()
        for key in one:
            _close(one[key], other[key])
    elif isinstance(one, list):
        assert len(one) == len(other)
        for first, second in zip(one, other, strict=True):
            _close(first, second)
    else:
        assert one == (pytest.approx(other, rel=1e-9, abs=1e-9) if isinstance(one, float) else other)


@SOME
@given(CASES)
def test_contributions_add_up_and_the_probability_is_that_of_the_log_odds(case: dict[str, str]) -> None:
    (held,) = score(keyed([case]))
    if not held.shown:
        assert (held.probability, held.contributions) == (None, ())
        return
    assert held.log_odds is not None
    total = held.base_log_odds + sum(part.log_odds for part in held.contributions)
    assert total == pytest.approx(held.log_odds, abs=1e-9)
    assert held.probability is not None
    assert 0 < (held.low or 0) <= (held.high or 1) < 1
    complete = not held.missing
    assert not complete or held.probability == pytest.approx(1 / (1 + np.exp(-held.log_odds)), abs=1e-9)


@SOME
@given(TABLES, st.integers(0, 2**32))
def test_the_order_of_rows_and_columns_and_the_company_change_nothing(rows: list[dict[str, str]], seed: int) -> None:
    held = keyed(rows)
    plain = {estimate.case_id: estimate for estimate in score(held)}
    random, names, turned = Random(seed), list(held[0]), list(held)  # noqa: S311 - an order, no secret
    random.shuffle(names)
    random.shuffle(turned)
    for estimate in score(turned, names):
        alike(estimate, plain[estimate.case_id])
    for row in held:
        alike(score([row])[0], plain[row["case_id"]])


@SOME
@given(CASES, st.text("abcdefg", min_size=3, max_size=8))
def test_a_column_that_the_model_does_not_know_changes_nothing(case: dict[str, str], name: str) -> None:
    (row,) = keyed([case])
    alike(score([row])[0], score([{**row, f"zz_{name}": "1"}])[0])


@SOME
@given(TABLES)
def test_answers_as_json_are_json_and_each_has_its_lines(rows: list[dict[str, str]]) -> None:
    held = score(keyed(rows))
    document = answer.to_document(SCORER.bundle, held, on=ON)
    again = json.loads(json.dumps(document, allow_nan=False))
    assert [result["case_id"] for result in again["results"]] == [estimate.case_id for estimate in held]
    lines = "\n".join(answer_text.lines(SCORER.bundle, held))
    assert all(estimate.case_id in lines for estimate in held)
