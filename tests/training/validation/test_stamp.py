"""What travels with a bundle: nothing exact, nothing under five, and still readable."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from riskmodel import bundle as bundles
from riskmodel.bundle import Bundle
from riskmodel.documents import card
from tests import demonstration
from tests.training.validation.worlds import validation
from training.validation import stamped


def stamp() -> Bundle:
    trained = demonstration.trained()
    return stamped(trained.bundle, validation(), trained.comparison)


def test_a_stamped_bundle_is_written_and_read(tmp_path: Path) -> None:
    path = tmp_path / "model.riskmodel.json"
    bundles.write(stamp(), path)
    held = bundles.read(path)
    assert held.performance["curves"] == stamp().performance["curves"]
    assert set(held.performance["curves"]) == {"calibration", "decision", "distribution"}
    assert held.performance["curves"]["calibration"] == stamp().performance["curves"]["calibration"]


def numbers(held: Any) -> list[float]:
    if isinstance(held, dict):
        return [value for part in held.values() for value in numbers(part)]
    if isinstance(held, list):
        return [value for part in held for value in numbers(part)]
    return [held] if isinstance(held, float) else []


def test_what_was_added_is_rounded() -> None:
    added = {name: part for name, part in stamp().performance.items() if name not in demonstration.bundle().performance}
    added |= {name: stamp().performance["curves"][name] for name in ("decision", "distribution")}
    assert {"left_out_centres", "subgroups", "spread_over_specifications"} <= set(added)
    assert all(value == round(value, 3) for value in numbers(added))


def test_subgroups_tell_no_small_count() -> None:
    for row in stamp().performance["subgroups"]:
        for words in (row["children"], row["events"]):
            told = re.fullmatch(r"at least (\d+)|fewer than 5", words)
            assert told is not None
            assert told[1] is None or int(told[1]) % 5 == 0
        if row["events"] in ("fewer than 5", "at least 5"):
            assert row["c"] == row["observed_expected"] == "too few to say"


def test_centres_are_told_only_together() -> None:
    text = json.dumps(stamp().performance)
    assert demonstration.cohort().centre is not None
    for label in demonstration.cohort().centre.labels:  # type: ignore[union-attr]
        assert f'"{label}"' not in text
        assert f" {label} " not in text


def test_the_distribution_is_told_in_twentieths() -> None:
    held = stamp().performance["curves"]["distribution"]
    assert all(share == pytest.approx(0.05 * round(share / 0.05)) for share in held["share"])
    assert sum(held["share"]) == pytest.approx(1.0, abs=0.26)


def test_the_card_tells_how_it_does_in_other_centres() -> None:
    text = card.to_markdown(card.summarise(stamp()))
    assert re.search(r"\| c-statistic \| \d+ \| 0\.", text)
    assert "too few to say" in text
