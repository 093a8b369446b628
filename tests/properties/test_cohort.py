"""The cohort: the order of rows and columns, and columns that nobody asked for, change nothing."""

from collections.abc import Iterable
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.properties import FEW
from tests.reference import KYPHOSIS
from tests.training.cohort.children import Columns, children, write
from training import cohort as cohorts
from training import protocol as protocols
from training.cohort import Cohort
from training.fitting import fit

SEEDS = st.integers(0, 2**32)
PROTOCOL = protocols.read("fixation_failure_24m")
PLAIN = children(40)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cohorts")


def read(folder: Path, columns: Columns) -> Cohort:
    return cohorts.read(write(columns, folder / "children.csv"), PROTOCOL)


def same(one: Cohort, other: Cohort, names: Iterable[str]) -> None:
    """Every value, state, time and status, child by child."""
    places = [other.cases.keys.index(key) for key in one.cases.keys]
    assert len(one) == len(other)
    for name in names:
        np.testing.assert_array_equal(one.cases[name].states, other.cases[name].states[places])
        if not one.cases[name].labels:
            np.testing.assert_array_equal(one.cases[name].values, other.cases[name].values[places])
    np.testing.assert_array_equal(one.course.status, other.course.status[places])
    assert one.course.months is not None
    assert other.course.months is not None
    np.testing.assert_array_equal(one.course.months, other.course.months[places])


@FEW
@given(SEEDS)
def test_the_order_of_rows_changes_nothing(folder: Path, seed: int) -> None:
    order = list(range(40))
    Random(seed).shuffle(order)  # noqa: S311 - an order, no secret
    turned = {name: [values[place] for place in order] for name, values in PLAIN.items()}
    plain = read(folder, PLAIN)
    same(plain, read(folder, turned), plain.cases.columns)


@FEW
@given(SEEDS)
def test_the_order_of_columns_changes_nothing(folder: Path, seed: int) -> None:
    names = list(PLAIN)
    Random(seed).shuffle(names)  # noqa: S311 - an order, no secret
    plain = read(folder, PLAIN)
    same(plain, read(folder, {name: PLAIN[name] for name in names}), plain.cases.columns)


@FEW
@given(st.lists(st.text("abcdefg", min_size=3, max_size=8), min_size=1, max_size=3, unique=True), SEEDS)
def test_columns_that_nobody_asked_for_change_nothing(folder: Path, names: list[str], seed: int) -> None:
    random = Random(seed)  # noqa: S311 - numbers, no secrets
    more = {f"zz_{name}": [str(random.randrange(9)) for _ in range(40)] for name in names}
    plain = read(folder, PLAIN)
    wider = read(folder, {**PLAIN, **more})
    same(plain, wider, plain.cases.columns)
    assert len(wider.findings) >= len(plain.findings)


@pytest.mark.parametrize("words", [("no", "yes"), ("a", "b"), ("stayed.straight", "bent_forward")])
def test_a_fit_does_not_hang_on_how_levels_are_called(words: tuple[str, str], tmp_path: Path) -> None:
    names = ("kyphosis.csv", "kyphosis.toml", "kyphosis_dictionary.toml")
    texts = {name: (KYPHOSIS / name).read_text(encoding="utf-8") for name in names}
    fits = []
    for absent, present in (("absent", "present"), words):
        for name, text in texts.items():
            (tmp_path / name).write_text(_called(text, absent, present), encoding="utf-8")
        asked = protocols.read(str(tmp_path / "kyphosis.toml"))
        fits.append(fit(cohorts.read(tmp_path / "kyphosis.csv", asked), asked, times=20).bundle)
    np.testing.assert_array_equal(fits[0].coefficients, fits[1].coefficients)
    np.testing.assert_array_equal(fits[0].draws, fits[1].draws)
    assert fits[0].intercept == fits[1].intercept


def _called(text: str, absent: str, present: str) -> str:
    for word, new in (("absent", absent), ("present", present)):
        text = text.replace(f'"{word}"', f'"{new}"').replace(f"{word},", f"{new},").replace(f"\n{word}", f"\n{new}")
    return text
