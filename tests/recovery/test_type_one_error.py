"""A model that is right is changed in about 1 of 20 cohorts, censored or not, with many events or few."""

import csv
from pathlib import Path

import pytest

from tests.recovery.type_one_error import FIELDS, STUDIES, changed_share, go_on, kept, one
from training.updating.closed_test import Branch, Judge


@pytest.mark.parametrize("name", STUDIES)
def test_the_study_that_is_kept_holds_the_level(name: str) -> None:
    cohorts, share = changed_share(kept(name))
    assert cohorts >= STUDIES[name].cohorts
    assert 0.03 <= share <= 0.07


@pytest.mark.parametrize(("name", "again"), [("wald", 20), ("bootstrap", 2)])
def test_the_study_that_is_kept_can_be_made_again(name: str, again: int) -> None:
    with kept(name).open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))[:again]
    for number, row in enumerate(rows):
        made = one(STUDIES[name], number)
        assert {field: str(made[field]) for field in FIELDS[:4]} == {field: row[field] for field in FIELDS[:4]}
        assert made["p_value"] == pytest.approx(float(row["p_value"]), abs=1e-6)


def test_few_events_were_judged_by_the_bootstrap_and_many_by_wald() -> None:
    for name, judge in (("wald", Judge.WALD), ("bootstrap", Judge.BOOTSTRAP)):
        with kept(name).open(encoding="utf-8") as file:
            judged = [row["judge"] for row in csv.DictReader(file)]
        assert judged.count(judge.value) >= 0.95 * len(judged)


def test_a_study_is_gone_on_with_where_it_was_left(tmp_path: Path) -> None:
    whole, parts = tmp_path / "whole.csv", tmp_path / "parts.csv"
    go_on(STUDIES["wald"], whole, 5)
    for cohorts in (2, 5, 5):
        go_on(STUDIES["wald"], parts, cohorts)
    assert parts.read_bytes() == whole.read_bytes()
    assert changed_share(whole)[0] == 5


@pytest.mark.recovery
@pytest.mark.parametrize("name", STUDIES)
def test_a_right_model_is_seldom_changed(name: str, tmp_path: Path) -> None:
    """The whole study anew: minutes."""
    go_on(STUDIES[name], tmp_path / "study.csv", STUDIES[name].cohorts)
    assert 0.02 <= changed_share(tmp_path / "study.csv")[1] <= 0.07


def test_a_wrong_model_is_changed() -> None:
    """The level is not kept by never changing anything: with twice the odds, most models are changed."""
    changed = [one(STUDIES["wald"], number, shift=0.7)["chosen"] != Branch.ORIGINAL.value for number in range(20)]
    assert sum(changed) >= 14
