"""The protocol: what it asks for does not hang on how its file is laid out."""

import re
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.properties import FEW
from training import protocol as protocols
from training.protocol import Protocol
from training.protocol.files import SHIPPED_PROTOCOLS

NAME = "fixation_failure_24m"
TEXT = (SHIPPED_PROTOCOLS / f"{NAME}.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("protocols")


def read(folder: Path, text: str) -> Protocol:
    path = folder / f"{NAME}.toml"
    path.write_text(text, encoding="utf-8")
    return protocols.read(str(path))


@FEW
@given(st.integers(0, 2**32))
def test_the_order_of_keys_and_blank_lines_and_comments_changes_nothing(folder: Path, seed: int) -> None:
    random = Random(seed)  # noqa: S311 - an order, no secret
    assert read(folder, _shuffled(TEXT, random)) == read(folder, TEXT)


@FEW
@given(st.integers(0, 2**32))
def test_the_order_of_the_predictors_is_their_order_and_nothing_else(folder: Path, seed: int) -> None:
    random = Random(seed)  # noqa: S311 - an order, no secret
    head, *parts = re.split(r"(?m)^(?=\[\[predictor\]\])", TEXT)
    last, after = re.split(r"(?m)^(?=\[(?!\[predictor))", parts[-1] + "\n[", maxsplit=1)
    parts[-1] = last
    random.shuffle(parts)
    held, plain = read(folder, head + "".join(parts) + after.removesuffix("\n[")), read(folder, TEXT)
    assert sorted(map(repr, held.predictors)) == sorted(map(repr, plain.predictors))
    assert _without(held) == _without(plain)


def _without(held: Protocol) -> Protocol:
    return replace(held, predictors=(), document={})


def _shuffled(text: str, random: Random) -> str:
    """Keys of each table in another order, where each key is one line; blank lines and comments between."""
    tables = re.split(r"(?m)^(?=\[)", text)
    return "\n# a comment\n\n".join(_other_order(table, random) for table in tables)


def _other_order(table: str, random: Random) -> str:
    head, *lines = table.splitlines()
    keys = [line for line in lines if line.strip() and not line.startswith("#")]
    plain = head.startswith("[") and all(re.match(r"[a-z_]+ = [^\[]*(\[.*\])?[^\[]*$", line) for line in keys)
    if not plain:
        return table
    random.shuffle(keys)
    return "\n".join([head, *keys]) + "\n"
