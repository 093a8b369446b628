"""Masks cancel exactly, and hide."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import FitRefused, SharesRefused
from tests.training.sharing.centres import NAMES, SECRETS
from training.sharing.masking import FRACTION_BITS, MODULUS, Masks, total
from training.sharing.secrets import read_secrets

NUMBERS = st.lists(st.floats(-1e9, 1e9), min_size=3, max_size=3)


@given(st.lists(NUMBERS, min_size=1, max_size=5))
def test_masked_sums_are_the_sums(columns: list[list[float]]) -> None:
    parts = np.array(columns).T
    masked = [Masks(name, SECRETS[name]).quantity(part, "x") for name, part in zip(NAMES, parts, strict=True)]
    assert total(masked) == pytest.approx(
        parts.sum(axis=0), abs=3 * 2.0**-FRACTION_BITS + 1e-15 * float(np.abs(parts).sum())
    )
    assert not any(part.values for part in masked)


def test_without_secrets_numbers_stay_as_they_are() -> None:
    held = Masks("A", {}).quantity(np.array([[1.5, -2.0], [0.0, 3.25]]), "x")
    assert held.shape == (2, 2)
    assert held.values == (1.5, -2.0, 0.0, 3.25)
    assert total([held, held]).tolist() == [[3.0, -4.0], [0.0, 6.5]]


def test_a_masked_number_looks_like_any_other() -> None:
    """Whatever the number: none of 256 masked zeros repeats, and they are spread evenly."""
    held = Masks("TW", SECRETS["TW"]).quantity(np.zeros(256), "x")
    whole = np.array([float(int(text)) / MODULUS for text in held.masked])
    assert len(set(held.masked)) == 256
    assert whole.mean() == pytest.approx(0.5, abs=0.1)
    assert whole.std() == pytest.approx(1 / 12**0.5, abs=0.05)


def test_two_centres_that_collude_do_not_find_the_third_from_one_label_in_another() -> None:
    first, second = (Masks("TW", SECRETS["TW"]).quantity(1.0, label) for label in ("round 1", "round 2"))
    assert first.masked != second.masked


def test_a_part_of_the_centres_gives_nothing() -> None:
    parts = [Masks(name, SECRETS[name]).quantity(5.0, "x") for name in NAMES]
    assert total(parts) == pytest.approx(15.0)
    assert abs(float(total(parts[:2]))) > 1e6


def test_a_sum_that_is_too_large_to_mask_is_refused() -> None:
    with pytest.raises(FitRefused, match="to be masked; accepted: the same without masks"):
        Masks("TW", SECRETS["TW"]).quantity(1e30, "x")


def secrets(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "secrets.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_secrets_are_read_from_a_file(tmp_path: Path) -> None:
    path = secrets(tmp_path, 'format = 1\n[secret]\nCM = "a long phrase of both"\nHS = "another long phrase"\n')
    held = read_secrets(path, "TW")
    assert held.centre == "TW"
    assert set(held.secrets) == {"CM", "HS"}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("format = 1\n", "a phrase for every other centre"),
        ('format = 1\n[secret]\nCM = "short"\n', "at least 16 characters"),
        ('format = 1\n[secret]\nTW = "a long phrase of both"\n', "a secret with itself"),
        ('[secret]\nCM = "a long phrase of both"\n', "format = 1"),
        ('format = 1\nsecrets = 1\n[secret]\nCM = "a long phrase of both"\n', "the unknown key secrets"),
        ("format = ", "no TOML"),
    ],
)
def test_bad_secrets_are_named_and_never_repeated(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(SharesRefused) as refused:
        read_secrets(secrets(tmp_path, text), "TW")
    said = str(refused.value)
    assert told in said
    assert "phrase of both" not in said
    assert '"short"' not in said
