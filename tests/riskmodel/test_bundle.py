"""The bundle: canonical bytes, refusal of anything else, and no child inside."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskmodel import bundle as bundles
from riskmodel.bundle.canonical import canonical
from riskmodel.bundle.codec import encode
from riskmodel.bundle.file import DEEPEST, LARGEST_BYTES
from riskmodel.errors import BundleError
from tests import demonstration


@pytest.fixture
def written(tmp_path: Path) -> Path:
    path = tmp_path / "revision_24m.riskmodel.json"
    bundles.write(demonstration.bundle(), path)
    return path


def document(path: Path) -> dict[str, Any]:
    held: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return held


def test_what_is_written_is_read_and_writes_the_same_bytes(written: Path, tmp_path: Path) -> None:
    held = bundles.read(written)
    again = tmp_path / "again.json"
    assert bundles.write(held, again) == held.digest
    assert again.read_bytes() == written.read_bytes()
    assert held.terms == demonstration.bundle().terms
    assert held.coefficients == pytest.approx(demonstration.bundle().coefficients, rel=1e-8)
    assert held.dictionary.variables["condition"] == demonstration.bundle().dictionary.variables["condition"]


def test_the_bytes_are_those_of_the_standard_library(written: Path) -> None:
    """Source: json.dumps of the Python standard library with the same settings."""
    held = document(written)
    expected = json.dumps(held, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    assert written.read_bytes() == expected.encode()
    assert (
        canonical({"b": [], "a": {}, "ü": [1, 2.5, None, True, "x\n"]})
        == (
            json.dumps(
                {"b": [], "a": {}, "ü": [1, 2.5, None, True, "x\n"]}, sort_keys=True, indent=1, ensure_ascii=False
            )
            + "\n"
        ).encode()
    )
    with pytest.raises(ValueError, match="finite numbers only"):
        canonical([1.0, float("nan")])


def test_the_digest_is_that_of_the_document_without_it(written: Path) -> None:
    """Source: SHA-256 of the standard library over the canonical document."""
    import hashlib

    held = document(written)
    digest = held.pop("digest")
    text = json.dumps(held, sort_keys=True, indent=1, ensure_ascii=False) + "\n"
    assert hashlib.sha256(text.encode()).hexdigest() == digest


def test_every_changed_byte_is_noticed(written: Path) -> None:
    text = written.read_bytes()
    rng = np.random.default_rng(1)
    for at in rng.choice(len(text), 25, replace=False):
        changed = bytearray(text)
        changed[at] = changed[at] ^ 1
        written.write_bytes(bytes(changed))
        with pytest.raises(BundleError):
            bundles.read(written)


def resealed(path: Path, held: dict[str, Any]) -> None:
    """Write an altered document under a digest that fits it: only the checks of content are left to notice."""
    import hashlib

    held = {key: value for key, value in held.items() if key != "digest"}
    digest = hashlib.sha256(canonical(held)).hexdigest()
    path.write_bytes(canonical({**held, "digest": digest}))


@pytest.mark.parametrize(
    ("key", "value", "message"),
    [
        ("draws", [[0.0, 1.0]] * 200, "draws must have shape"),
        ("cohort_rate", 1.0, "cohort_rate must lie between 0 and 1"),
        ("coefficients", [1.0], "coefficients must have shape"),
        ("intercept", "0", "bundle.intercept must be of type float; found str"),
        ("use", "for everything", "bundle.use must be a use; found another word"),
        ("released", "yesterday", "bundle.released must be a date; found another word"),
        ("review_by", "2001-01-01", "review_by must not lie before released"),
        ("coefficients", [[1.0], [2.0, 3.0]], "bundle.coefficients must be rows of numbers, all of one length"),
        ("signal", 1, "bundle.signal must be of type bool; found int"),
        ("surprise", 1, "bundle has unknown surprise"),
    ],
)
def test_what_does_not_fit_together_is_named(written: Path, key: str, value: object, message: str) -> None:
    resealed(written, {**document(written), key: value})
    with pytest.raises(BundleError, match=message):
        bundles.read(written)


ONLY = {"variable": "age_years", "at_least": 1.0, "at_most": None, "one_of": []}
SUM = {"name": "includes_occiput", "operation": "min", "of": ["age_years"], "level": None}


@pytest.mark.parametrize(
    ("part", "value", "message"),
    [
        (("ranges", "numbers", "weight"), [0.0, 1.0], "variables that its dictionary does not have: weight$"),
        (("ranges", "levels", "weight"), ["a"], "variables that its dictionary does not have: weight$"),
        (("ranges", "levels", "condition"), ["plum"], "condition must have the levels that are named: plum$"),
        (("gates", "only"), [{**ONLY, "variable": "weight"}], "variables that its dictionary does not have: weight$"),
        (("gates", "only"), [{**ONLY, "one_of": ["plum"]}], "age_years must have the levels that are named: plum$"),
        (("scored_at", "weight"), 1.0, "variables that its dictionary does not have: weight$"),
        (
            ("derive",),
            [{**SUM, "of": ["weight"]}],
            r"derive\[1\]\.of is the unknown variable weight, and must be one of",
        ),
        (("derive",), [{**SUM, "operation": "sum"}], r"derive\[1\]\.operation is sum, and must be one of min, max"),
        (("derive",), [{**SUM, "name": "youngest"}], "variables that its dictionary does not have: youngest$"),
        (("support", 0, "of"), ["age_years", "includes_occiput"], "age_years, by which like cases are counted"),
        (("terms", 0, "variables"), [], "must read the variables of its columns"),
    ],
)
def test_what_names_something_that_is_not_there_is_named(
    written: Path, part: tuple[str | int, ...], value: object, message: str
) -> None:
    held: Any = document(written)
    place = held
    for key in part[:-1]:
        place = place[key]
    place[part[-1]] = value
    resealed(written, held)
    with pytest.raises(BundleError, match=message):
        bundles.read(written)


def test_levels_of_a_term_are_those_of_its_variable_in_the_same_order(written: Path) -> None:
    """In another order every case would silently take another level's coefficient."""
    held = document(written)
    (variable,) = (part for part in held["dictionary"]["variables"] if part["name"] == "atlas_ring")
    variable["levels"].reverse()
    resealed(written, held)
    with pytest.raises(BundleError, match="atlas_ring has levels that its variable does not have"):
        bundles.read(written)


def test_the_moments_name_levels_that_they_list(written: Path) -> None:
    held = document(written)
    block = next(part for part in held["moments"]["blocks"] if part["holds"] == "level")
    block["rest"] = "plum"
    resealed(written, held)
    with pytest.raises(BundleError, match=f"the moments of {block['variable']} must name words that they list"):
        bundles.read(written)


def test_a_lacking_key_is_named(written: Path) -> None:
    held = document(written)
    del held["moments"]
    resealed(written, held)
    with pytest.raises(BundleError, match="bundle lacks moments"):
        bundles.read(written)


def test_strange_files_are_refused_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "x.riskmodel.json"
    with pytest.raises(BundleError, match=r"x\.riskmodel\.json cannot be read: No such file"):
        bundles.read(path)
    cases = {
        b"": "must be one JSON document",
        b'{"format": 2}\n': "must say format 1",
        b'{"format": 1, "format": 1}\n': "must not name a key twice",
        b'{"format": 1, "x": NaN}\n': "finite numbers only",
        b"[" * (DEEPEST + 1): "nested deeper",
        b"\xff\xfe": "it is not text",
    }
    for text, message in cases.items():
        path.write_bytes(text)
        with pytest.raises(BundleError, match=message):
            bundles.read(path)
    with path.open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    with pytest.raises(BundleError, match="at most 16 MiB"):
        bundles.read(path)


def test_a_failed_write_leaves_the_earlier_file(written: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = written.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space left"):
        bundles.write(demonstration.bundle(), written)
    assert written.read_bytes() == before
    assert list(written.parent.iterdir()) == [written]


def test_floats_are_held_to_nine_digits() -> None:
    assert encode([1 / 3, np.float64(2 / 3)]) == [0.333333333, 0.666666667]
    assert encode(np.array([[1e-12 / 3]])) == [[3.33333333e-13]]


def test_the_model_scores_the_same_from_the_file(written: Path) -> None:
    held, own = bundles.read(written).model, demonstration.bundle().model
    columns = own.recipe.expected(demonstration.cohort().cases)
    assert held.probability(columns) == pytest.approx(own.probability(columns), abs=1e-8)
    low, high = held.interval(columns)
    assert (low < held.probability(columns)).all()
    assert (held.probability(columns) < high).all()


def test_without_a_signal_the_rate_is_shown_and_lies_in_every_interval() -> None:
    silent = replace(demonstration.bundle(), signal=False)
    columns = silent.model.recipe.expected(demonstration.cohort().cases)
    assert silent.model.probability(columns) == pytest.approx(np.full(len(columns), silent.cohort_rate))
    low, high = silent.model.interval(columns)
    assert (low <= silent.cohort_rate).all()
    assert (high >= silent.cohort_rate).all()
