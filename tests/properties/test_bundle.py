"""The bundle: whatever numbers it holds, it is read as it was written, and written as it was read."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel import bundle as bundles
from riskmodel.bundle.canonical import canonical
from riskmodel.bundle.file import sealed
from riskmodel.errors import BundleError
from tests.packaging import GOLDEN
from tests.properties import SOME

HELD = bundles.read(GOLDEN)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | NUMBERS | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner),
    max_leaves=12,
)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bundles") / "any.riskmodel.json"


@SOME
@given(JSON)
def test_canonical_bytes_are_those_of_the_standard_library(document: object) -> None:
    """Source: json.dumps of the Python standard library with the same settings."""
    expected = json.dumps(document, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    assert canonical(document) == expected.encode()


@SOME
@given(st.lists(NUMBERS, min_size=3, max_size=3), NUMBERS, st.floats(1e-6, 1 - 1e-6), st.booleans())
def test_any_numbers_come_back(path: Path, slopes: list[float], base: float, rate: float, signal: bool) -> None:
    changed = replace(HELD, coefficients=np.array(slopes), intercept=base, cohort_rate=rate, signal=signal)
    digest = bundles.write(changed, path)
    again = bundles.read(path)
    assert sealed(again) == (digest, path.read_bytes())
    np.testing.assert_allclose(again.coefficients, slopes, rtol=1e-8)
    assert again.intercept == pytest.approx(base, rel=1e-8)
    assert again.signal is signal


@SOME
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
def test_any_title_comes_back(path: Path, title: str) -> None:
    bundles.write(replace(HELD, title=title), path)
    assert bundles.read(path).title == title


@SOME
@given(st.integers(0, len(GOLDEN.read_bytes()) - 1), st.integers(1, 255))
def test_any_changed_byte_is_noticed(path: Path, place: int, by: int) -> None:
    text = bytearray(GOLDEN.read_bytes())
    text[place] ^= by
    path.write_bytes(bytes(text))
    with pytest.raises(BundleError):
        bundles.read(path)
