"""The committed cards are those of the shipped demonstration models: fitted again, and compared."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from riskmodel.bundle.file import sealed
from riskmodel.documents import card
from tests import demonstration
from training.fitting import fit
from training.validation import examine, stamped

CARDS = Path(__file__).parents[2] / "model_cards"
NUMBER = re.compile(r"\d+\.\d+|\d+")
DIGEST = re.compile(r"[0-9a-f]{64}|[0-9a-f]{12}")


# Everything of the card that no replay has part in.
WITHOUT_REPLAYS = (
    *("limits", "predicted", "population", "cohort", "intercept", "base_log_odds", "base_probability", "coefficients"),
    *("effects", "advice", "gates", "checks", "updates", "cautions", "protocol"),
)
NAMES = ("fixation_failure_24m", "revision_24m")


@pytest.mark.parametrize("name", NAMES)
def test_the_committed_card_is_that_of_a_new_fit_but_for_its_replays(name: str) -> None:
    found = json.loads(card.to_json(card.summarise(demonstration.bundle(name))))
    committed = json.loads((CARDS / f"{name}.card.json").read_text(encoding="utf-8"))
    for part in WITHOUT_REPLAYS:
        assert_alike(found[part], committed[part], f"{name}.{part}")
    first, second = (
        {line["name"]: line["apparent"] for line in held["performance"]["measures"]} for held in (found, committed)
    )
    assert_alike(first, second, f"{name}.measures")
    assert_alike(found["performance"]["calibration"], committed["performance"]["calibration"], f"{name}.calibration")


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_committed_card_is_the_card_of_a_new_fit(name: str) -> None:
    trained = fit(demonstration.cohort(name), demonstration.protocol(name), workers=2)
    bundle = stamped(trained.bundle, examine(trained), trained.comparison)
    summary = card.summarise(replace(bundle, digest=sealed(bundle)[0]))
    committed = json.loads((CARDS / f"{name}.card.json").read_text(encoding="utf-8"))
    assert_alike(json.loads(card.to_json(summary)), committed, name)
    text = (CARDS / f"{name}.card.md").read_text(encoding="utf-8")
    found, expected = (DIGEST.sub("digest", held) for held in (card.to_markdown(summary), text))
    assert NUMBER.sub("#", found) == NUMBER.sub("#", expected)
    assert "invented" in text


def assert_alike(found: Any, expected: Any, place: str) -> None:
    """Equal, numbers to 1e-6: another kind of processor may differ in the last digits, and so in the digest."""
    if isinstance(expected, dict):
        assert found.keys() == expected.keys(), place
        for key in expected.keys() - {"digest", "made_with"}:
            assert_alike(found[key], expected[key], f"{place}.{key}")
    elif isinstance(expected, list):
        assert len(found) == len(expected), place
        for i, (one, other) in enumerate(zip(found, expected, strict=True)):
            assert_alike(one, other, f"{place}[{i}]")
    elif isinstance(expected, float):
        assert found == pytest.approx(expected, abs=1e-6), place
    else:
        assert found == expected, place
